"""The multicast groups of the universes that are listened to, joined on one interface and followed."""

import errno
import socket
import struct
import sys
from collections.abc import Iterable
from contextlib import suppress
from typing import NamedTuple

from server.wire.e131 import multicast_address, multicast_address_v6

__all__ = ["Groups"]

# What Linux says when one socket is in as many groups as it may be: of IPv4 20, of IPv6 some hundreds.
_FULL = {errno.ENOBUFS, errno.ENOMEM}


class _Membership(NamedTuple):
    """How a group is joined and left: of which protocol, by which option, with what."""

    level: int
    join: int
    leave: int
    asked: bytes

    def join_on(self, by: socket.socket) -> None:
        """Raises OSError: it cannot be joined."""
        by.setsockopt(self.level, self.join, self.asked)

    def leave_on(self, by: socket.socket) -> None:
        """Raises OSError: the interface went, and its groups with it."""
        by.setsockopt(self.level, self.leave, self.asked)


class Groups:
    """Keeps one socket in the groups of some universes (E1.31-2018, 9.3), on one interface.

    missing: why a group could not be joined; None: all are.
    """

    def __init__(self, hearing: socket.socket) -> None:
        """hearing: the socket that is read, of IPv4 or IPv6; it stays the caller's."""
        self.missing: OSError | None = None
        self._sockets = [hearing]
        self._joined: dict[int, tuple[socket.socket, _Membership]] = {}
        self._interface: str | int | None = None

    def follow(self, universes: Iterable[int], interface: str | int | None) -> None:
        """Be in these groups on that interface, and in no others.

        interface: one of our IPv4 addresses, or for IPv6 the interface's number; None while it is away, which
        takes its groups with it: they are joined again afterwards.
        """
        wanted = set(universes) if interface is not None else set[int]()
        if interface != self._interface:
            self._leave(list(self._joined))
        self._interface = interface
        self._leave([universe for universe in self._joined if universe not in wanted])
        self.missing = None
        if interface is not None:
            for universe in sorted(wanted - self._joined.keys()):
                self._join(universe, _membership(universe, interface))

    def close(self) -> None:
        """Leave all groups."""
        self._leave(list(self._joined))
        for each in self._sockets[1:]:
            each.close()

    def _join(self, universe: int, group: _Membership) -> None:
        try:
            for each in reversed(self._sockets):
                if _has_room(each, group):
                    self._joined[universe] = each, group
                    return
            # Linux limits the groups of one socket. There, a group joined by any socket is heard by all.
            more = socket.socket(self._sockets[0].family, socket.SOCK_DGRAM)
            try:
                group.join_on(more)
            except OSError:
                more.close()
                raise
            self._sockets.append(more)
            self._joined[universe] = more, group
        except OSError as why:
            self.missing = why

    def _leave(self, universes: Iterable[int]) -> None:
        for universe in universes:
            by, group = self._joined.pop(universe)
            with suppress(OSError):
                group.leave_on(by)


def _membership(universe: int, interface: str | int) -> _Membership:
    if isinstance(interface, str):
        asked = socket.inet_aton(multicast_address(universe)) + socket.inet_aton(interface)
        return _Membership(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, socket.IP_DROP_MEMBERSHIP, asked)
    octets = socket.inet_pton(socket.AF_INET6, multicast_address_v6(universe))
    asked = octets + struct.pack("@I", interface)
    return _Membership(socket.IPPROTO_IPV6, socket.IPV6_JOIN_GROUP, socket.IPV6_LEAVE_GROUP, asked)


def _has_room(by: socket.socket, group: _Membership) -> bool:
    """Join, unless that socket is in as many groups as it may. Raises OSError: something else is wrong."""
    try:
        group.join_on(by)
    except OSError as why:
        if why.errno in _FULL and sys.platform == "linux":
            return False
        raise
    return True
