"""The multicast groups of the universes that are listened to, joined on one interface and followed."""

import errno
import socket
import sys
from collections.abc import Iterable

from server.wire.e131 import multicast_address

__all__ = ["Groups"]


class Groups:
    """Keeps one socket in the groups of some universes (E1.31-2018, 9.3.1), on one interface.

    missing: why a group could not be joined; None: all are.
    """

    def __init__(self, hearing: socket.socket) -> None:
        """hearing: the socket that is read; it stays the caller's."""
        self.missing: OSError | None = None
        self._sockets = [hearing]
        self._joined: dict[int, tuple[socket.socket, bytes]] = {}
        self._interface: str | None = None

    def follow(self, universes: Iterable[int], interface: str | None) -> None:
        """Be in these groups on that one of our IPv4 addresses, and in no others.

        interface: None while it is away, which takes its groups with it: they are joined again afterwards.
        """
        wanted = set(universes) if interface is not None else set[int]()
        if interface != self._interface:
            self._leave(list(self._joined))
        self._interface = interface
        self._leave([universe for universe in self._joined if universe not in wanted])
        self.missing = None
        for universe in sorted(wanted - self._joined.keys()):
            self._join(universe, socket.inet_aton(multicast_address(universe)))

    def close(self) -> None:
        """Leave all groups."""
        self._leave(list(self._joined))
        for each in self._sockets[1:]:
            each.close()

    def _join(self, universe: int, group: bytes) -> None:
        asked = group + socket.inet_aton(self._interface or "0.0.0.0")  # noqa: S104 - it is never None here
        try:
            for each in reversed(self._sockets):
                if _has_room(each, asked):
                    self._joined[universe] = each, asked
                    return
            # Linux lets one socket be in 20 groups. There, a group joined by any socket is heard by all.
            self._sockets.append(socket.socket(socket.AF_INET, socket.SOCK_DGRAM))
            if _has_room(self._sockets[-1], asked):
                self._joined[universe] = self._sockets[-1], asked
        except OSError as why:
            self.missing = why

    def _leave(self, universes: Iterable[int]) -> None:
        for universe in universes:
            by, asked = self._joined.pop(universe)
            try:
                by.setsockopt(socket.IPPROTO_IP, socket.IP_DROP_MEMBERSHIP, asked)
            except OSError:
                continue  # the interface went, and its groups with it


def _has_room(by: socket.socket, asked: bytes) -> bool:
    """Join, unless that socket is in as many groups as it may. Raises OSError: something else is wrong."""
    try:
        by.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, asked)
    except OSError as why:
        if why.errno == errno.ENOBUFS and sys.platform == "linux":
            return False
        raise
    return True
