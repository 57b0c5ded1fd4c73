"""The sockets packets leave by, and what did not leave by them."""

import errno
import socket
import sys
from collections.abc import Iterable, Sequence

from server.output.batch import Address, Batch, OneByOne
from server.output.trouble import GONE, MULTICAST, sentence_of, who
from server.wire import artnet

__all__ = ["Sender"]

_TTL = 8  # the standard names none; enough for a venue's routers, too little to leave the house
_BUFFER_OCTETS = 1 << 20

# What a new socket may cure: it belongs to an interface that went, and perhaps came back.
_STALE = {errno.EADDRNOTAVAIL, errno.ENODEV, errno.ENETDOWN, errno.ENETUNREACH, errno.EINVAL}


class Sender:
    """Two UDP sockets, one for sACN and one for Art-Net.

    failed: sentences and hosts of what did not leave, until somebody empties it. broken: whether `rebuild`
    may help. waits: the interface is not there; until `rebuild` finds it no multicast leaves, least of all
    by another network, while machines given by address get theirs.
    """

    def __init__(self, artnet_port: int = artnet.PORT) -> None:
        """artnet_port: where Art-Net leaves from, while nobody else has that port."""
        self.failed: set[tuple[str, str]] = set()
        self.broken = self.waits = False
        self._artnet_port = artnet_port
        self._interface: str | None = None
        self._sacn: socket.socket | None = None
        self._artnet: socket.socket | None = None
        self.rebuild()

    @property
    def artnet_port(self) -> int:
        """The port that Art-Net leaves from, by which it is known as ours; 0 while there is no socket."""
        return self._artnet.getsockname()[1] if self._artnet else 0

    def use(self, interface: str | None) -> bool:
        """Send multicast by this one of our own IPv4 addresses; None lets the system choose.

        Returns whether it is another one than before.
        """
        if interface == self._interface:
            return False
        self._interface, self.waits = interface, False
        self.rebuild()
        return True

    def send_sacn(self, batch: Batch, first: int, end: int) -> Sequence[int]:
        """Send entries first to end - 1; returns those that did not leave, with `failed` saying why."""
        return self._send(self._sacn, batch, first, end)

    def send_artnet(self, batch: Batch, first: int, end: int) -> Sequence[int]:
        """Send entries first to end - 1; returns those that did not leave, with `failed` saying why."""
        return self._send(self._artnet, batch, first, end)

    def send_sacn_once(self, packet: bytearray, addresses: Iterable[Address]) -> None:
        """Send one packet that is not part of a batch to each address."""
        once = OneByOne([(packet, address) for address in addresses])
        self.send_sacn(once, 0, len(once.entries))

    def rebuild(self) -> bool:
        """Open what is missing or hangs on an interface that may have gone and come back.

        Returns whether an interface that was waited for is there again.
        """
        waited = self.waits
        self.broken = self.waits = False
        try:
            if not waited:
                self._open()
        except OSError as why:
            self.failed.add((sentence_of(why), "the network"))
            self.broken = True
            return False
        self._choose_interface()
        return waited and not self.waits

    def _open(self) -> None:
        if self._sacn is not None:
            self._sacn.close()
        self._sacn = None
        self._sacn = _sacn_socket()
        self._artnet = self._artnet or _artnet_socket(self._artnet_port)

    def _choose_interface(self) -> None:
        if self._sacn is None or self._interface is None:
            return
        try:
            address = socket.inet_aton(self._interface)
            self._sacn.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, address)
        except OSError as why:
            self.failed.add((sentence_of(why), MULTICAST))
            self.broken = self.waits = True

    def close(self) -> None:
        """Close both sockets."""
        for each in (self._sacn, self._artnet):
            if each is not None:
                each.close()

    def _send(self, by: socket.socket | None, batch: Batch, first: int, end: int) -> Sequence[int]:
        if by is None:
            return range(first, end)
        if self.waits and by is self._sacn:
            return self._send_without_multicast(by, batch, first, end)
        return self._told(batch, batch.send(by, first, end))

    def _send_without_multicast(self, by: socket.socket, batch: Batch, first: int, end: int) -> Sequence[int]:
        held = []
        for place in range(first, end):
            if who(batch.entries[place][1][0]) == MULTICAST:
                held.append(place)
            else:
                held += self._told(batch, batch.send(by, place, place + 1))
        return held

    def _told(self, batch: Batch, failed: Sequence[tuple[int, OSError]]) -> list[int]:
        for place, why in failed:
            host = who(batch.entries[place][1][0])
            # Only multicast hangs on an interface; for everything else the same socket will do.
            lost = why.errno in _STALE and host == MULTICAST
            self.failed.add((GONE if lost and self._interface else sentence_of(why), host))
            self.broken = self.broken or lost
        return [place for place, _ in failed]


def _sacn_socket() -> socket.socket:
    made = _socket()
    try:
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, _TTL)
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_LOOP, 1)
    except OSError:
        made.close()
        raise
    return made


def _artnet_socket(port: int) -> socket.socket:
    made = _socket()
    made.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
    _bind_artnet(made, port)
    return made


def _socket() -> socket.socket:
    made = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    # A packet that would have to wait is worth less than the next one, so nothing here ever waits.
    made.setblocking(False)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, _BUFFER_OCTETS)
    return made


def _bind_artnet(made: socket.socket, port: int) -> None:
    # Art-Net asks for source port 6454. On Linux the last one to bind a shared port gets what is sent to it,
    # so this socket takes the port only while nobody has it, and shares it afterwards: whoever polls nodes
    # binds later and hears them. Where that order is not certain, answers matter more than the source port.
    # Any other port is bound as well, so that it can be told: what leaves from it is ours.
    if sys.platform == "linux" and _is_bound(made, port):
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    else:
        made.bind(("", 0))
    made.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 0)  # nothing is ever read here


def _is_bound(made: socket.socket, port: int) -> bool:
    try:
        made.bind(("", port))
    except OSError:
        return False
    return True
