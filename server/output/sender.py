"""The sockets packets leave by, and what to tell a person when they do not."""

import errno
import socket
import sys
from collections.abc import Iterable, Sequence

from server.output.batch import Address, Batch, OneByOne
from server.wire import artnet

__all__ = ["Sender"]

_TTL = 8  # the standard names none; enough for a venue's routers, too little to leave the house
_BUFFER_OCTETS = 1 << 20

_WORDS = {
    errno.ENETUNREACH: "No network leads to {host}: is the cable in, and is the right interface chosen?",
    errno.EHOSTUNREACH: "{host} cannot be reached: is it switched on and on the same network?",
    errno.ENETDOWN: "The network is down: is the cable in?",
    errno.EACCES: "This machine does not allow sending to {host}: a firewall, or a broadcast address?",
    errno.EPERM: "A firewall on this machine stops what is sent to {host}.",
    errno.EAGAIN: "More is sent than the network takes; packets to {host} were left out.",
    errno.ENOBUFS: "More is sent than the network takes; packets to {host} were left out.",
    errno.EADDRNOTAVAIL: "The chosen network interface is not there any more.",
    errno.ENODEV: "The chosen network interface is not there any more.",
}
# What new sockets may cure: they belong to an interface that went, and perhaps came back.
_STALE = {errno.EADDRNOTAVAIL, errno.ENODEV, errno.ENETDOWN, errno.ENETUNREACH, errno.EBADF, errno.EINVAL}


class Sender:
    """Two UDP sockets, one for sACN and one for Art-Net.

    words: what went wrong since they were last emptied. broken: whether `rebuild` may help.
    """

    def __init__(self, artnet_port: int = artnet.PORT) -> None:
        """artnet_port: where Art-Net leaves from, while nobody else has that port."""
        self.words = ""
        self.broken = False
        self._artnet_port = artnet_port
        self._interface: str | None = None
        self._sacn: socket.socket | None = None
        self._artnet: socket.socket | None = None
        self.rebuild()

    def use(self, interface: str | None) -> None:
        """Send multicast by this one of our own IPv4 addresses; None lets the system choose."""
        if interface != self._interface:
            self._interface = interface
            self.rebuild()

    def send_sacn(self, batch: Batch, first: int, end: int) -> Sequence[int]:
        """Send entries first to end - 1; returns those that did not leave, with `words` saying why."""
        return self._send(self._sacn, batch, first, end)

    def send_artnet(self, batch: Batch, first: int, end: int) -> Sequence[int]:
        """Send entries first to end - 1; returns those that did not leave, with `words` saying why."""
        return self._send(self._artnet, batch, first, end)

    def send_sacn_once(self, packet: bytearray, addresses: Iterable[Address]) -> None:
        """Send one packet that is not part of a batch to each address."""
        once = OneByOne([(packet, address) for address in addresses])
        self.send_sacn(once, 0, len(once.entries))

    def rebuild(self) -> None:
        """Open what is missing or hangs on an interface that may have gone and come back."""
        self.broken = False
        if self._sacn is not None:
            self._sacn.close()
        self._sacn = None
        try:
            self._sacn = _sacn_socket(self._interface)
            self._artnet = self._artnet or _artnet_socket(self._artnet_port)
        except OSError as why:
            self._failed(why, self._interface or "the network")

    def close(self) -> None:
        """Close both sockets."""
        for each in (self._sacn, self._artnet):
            if each is not None:
                each.close()

    def _send(self, by: socket.socket | None, batch: Batch, first: int, end: int) -> Sequence[int]:
        if by is None:
            return range(first, end)
        failed = batch.send(by, first, end)
        for place, why in failed:
            self._failed(why, batch.entries[place][1][0])
        return [place for place, _ in failed]

    def _failed(self, why: OSError, host: str) -> None:
        words = _WORDS.get(why.errno or 0, "Nothing goes out to {host}: " + str(why) + ".")
        self.words = words.format(host=host)
        self.broken = self.broken or self._sacn is None or why.errno in _STALE


def _sacn_socket(interface: str | None) -> socket.socket:
    made = _socket()
    try:
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, _TTL)
        made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_LOOP, 1)
        if interface:
            made.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(interface))
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
    if sys.platform != "linux":
        return
    try:
        made.bind(("", port))
    except OSError:
        return
    made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    made.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 0)  # nothing is ever read here
