"""One socket packets leave by, and what did not leave by it."""

import errno
import socket
import sys
from collections.abc import Iterable, Sequence

from server.output.batch import Address, Batch, OneByOne
from server.output.place import By
from server.output.trouble import GONE, MULTICAST, sentence_of, who

__all__ = ["Way"]

_HOPS = 8  # the standard names none; enough for a venue's routers, too little to leave the house
_BUFFER_OCTETS = 1 << 20

# What a new socket may cure: it belongs to an interface that went, and perhaps came back.
_STALE = {errno.EADDRNOTAVAIL, errno.ENODEV, errno.ENETDOWN, errno.ENETUNREACH, errno.EINVAL}


class Way:
    """One way out.

    broken: whether `rebuild` may help. waits: the interface is not there; until `rebuild` finds it nothing
    leaves that hangs on it, least of all by another network. That is all there is, where the way is bound to
    the interface, and else multicast: machines given by address get theirs.
    """

    def __init__(self, by: By, failed: set[tuple[str, str]], port: int = 0) -> None:
        """failed: takes sentences and hosts of what does not leave. port: that Art-Net should leave from."""
        self.by = by
        self.broken = self.waits = False
        self._failed = failed
        self._port = port
        self._socket: socket.socket | None = None
        self.rebuild()

    @property
    def port(self) -> int:
        """The port that packets leave from; 0 while there is no socket."""
        return self._socket.getsockname()[1] if self._socket else 0

    def send(self, batch: Batch, first: int, end: int) -> Sequence[int]:
        """Send entries first to end - 1; returns those that did not leave, with `failed` told why."""
        if self._socket is None:
            return range(first, end)
        if self.waits:
            return self._send_without_multicast(self._socket, batch, first, end)
        return self._told(batch, batch.send(self._socket, first, end))

    def send_once(self, packet: bytearray, addresses: Iterable[Address]) -> None:
        """Send one packet that is not part of a batch to each address."""
        once = OneByOne([(packet, address) for address in addresses])
        self.send(once, 0, len(once.entries))

    def rebuild(self) -> bool:
        """Open what is missing or hangs on an interface that may have gone and come back.

        Returns whether an interface that was waited for is there again.
        """
        waited = self.waits
        self.broken = self.waits = False
        try:
            # A socket that only waits to be told its interface still serves machines given by address.
            if self._socket is None or not waited:
                self._open()
        except OSError as why:
            self._failed.add((sentence_of(why), "the network"))
            self.broken = True
            self.waits = self._hangs_on_one
            return False
        self._choose_interface()
        return waited and not self.waits

    def close(self) -> None:
        """Close the socket."""
        if self._socket is not None:
            self._socket.close()
        self._socket = None

    @property
    def _hangs_on_one(self) -> bool:
        return self.by.bound or bool(self.by.ipv6)

    def _open(self) -> None:
        self.close()
        made = _socket(socket.AF_INET if self.by.ipv6 is None else socket.AF_INET6)
        try:
            if self.by.protocol == "sacn":
                _prepare_sacn(made, self.by)
            else:
                _prepare_artnet(made, self.by, self._port)
        except OSError:
            made.close()
            raise
        self._socket = made

    def _choose_interface(self) -> None:
        if self._socket is None or self.by.interface is None or self.by.bound:
            return
        try:
            address = socket.inet_aton(self.by.interface)
            self._socket.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, address)
        except OSError as why:
            self._failed.add((sentence_of(why), MULTICAST))
            self.broken = self.waits = True

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
            # Only multicast hangs on an interface, and what is bound to one; else the same socket will do.
            lost = why.errno in _STALE and (host == MULTICAST or self.by.bound)
            # No network that leads to one machine may be all there is to it; `rebuild` finds out.
            unsure = host != MULTICAST and why.errno == errno.ENETUNREACH
            gone = lost and not unsure and (self.by.interface or self.by.ipv6)
            self._failed.add((GONE if gone else sentence_of(why), host))
            self.broken = self.broken or lost
        return [place for place, _ in failed]


def _socket(family: int) -> socket.socket:
    made = socket.socket(family, socket.SOCK_DGRAM)
    # A packet that would have to wait is worth less than the next one, so nothing here ever waits.
    made.setblocking(False)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, _BUFFER_OCTETS)
    return made


def _prepare_sacn(made: socket.socket, by: By) -> None:
    if by.ipv6 is not None:
        made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_HOPS, _HOPS)
        made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_LOOP, 1)
        made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, by.ipv6)
        return
    made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, _HOPS)
    made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_LOOP, 1)
    if by.bound and by.interface is not None:
        made.bind((by.interface, 0))
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(by.interface))


def _prepare_artnet(made: socket.socket, by: By, port: int) -> None:
    made.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
    if by.bound and by.interface is not None:
        _bind_beside(made, by.interface, port)
    else:
        _bind_artnet(made, port)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 0)  # nothing is ever read here


def _bind_artnet(made: socket.socket, port: int) -> None:
    # Art-Net asks for source port 6454. On Linux the last one to bind a shared port gets what is sent to it,
    # so this socket takes the port only while nobody has it, and shares it afterwards: whoever polls nodes
    # binds later and hears them. Where that order is not certain, answers matter more than the source port.
    # Any other port is bound as well, so that it can be told: what leaves from it is ours.
    if sys.platform != "linux" or not _is_bound(made, port):
        made.bind(("", 0))
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)


def _bind_beside(made: socket.socket, interface: str, port: int) -> None:
    # The same port as all our Art-Net, by which it is known as ours. A socket bound to an address would get
    # what nodes answer there before whoever polls them; one that is connected to nobody does not.
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    made.bind((interface, port))
    if sys.platform == "linux":
        made.connect((interface, 9))


def _is_bound(made: socket.socket, port: int) -> bool:
    try:
        made.bind(("", port))
    except OSError:
        return False
    return True
