"""A UDP port that is listened on by IPv4 or IPv6, and the multicast groups that belong to it."""

import socket
from collections.abc import Callable, Mapping
from typing import NamedTuple

from server.net.groups import Groups
from server.net.listening import Address, Listening
from server.net.sockets import open_shared

__all__ = ["Port", "Wanted"]


class Wanted(NamedTuple):
    """Universes to be heard on an interface of ours, and that one as `Groups` wants it; None: it is away."""

    universes: set[int]
    interface: str | int | None


class Port:
    """Opened as soon as it can be; its groups are followed on each interface.

    trouble: why it is not open; None: it is, or was not asked for yet.
    """

    def __init__(
        self, number: int, take: Callable[[bytes, Address], None], family: socket.AddressFamily
    ) -> None:
        """take: given each datagram; raises nothing. family: AF_INET or AF_INET6."""
        self.trouble: OSError | None = None
        self._number, self._take, self._family = number, take, family
        self._listening: Listening | None = None
        self._groups: dict[str, Groups] = {}

    def follow(self, wanted: Mapping[str, Wanted]) -> None:
        """Be open, and in these groups and no others. wanted: by our address on each network.

        Needs a running loop.
        """
        if self._listening is None:
            try:
                self._listening = Listening(open_shared(self._number, family=self._family), self._take)
            except OSError as why:
                self.trouble = why
                return
            self.trouble = None
        for address in wanted.keys() - self._groups.keys():
            self._groups[address] = Groups(self._listening.socket)
        for address, groups in self._groups.items():
            groups.follow(*wanted.get(address, Wanted(set(), None)))

    @property
    def is_open(self) -> bool:
        """Whether it is listened on."""
        return self._listening is not None

    @property
    def missing(self) -> OSError | None:
        """Why a group could not be joined; None: all are."""
        return next((each.missing for each in self._groups.values() if each.missing is not None), None)

    async def close(self) -> None:
        """Hear nothing more."""
        for groups in self._groups.values():
            groups.close()
        if self._listening is not None:
            await self._listening.close()
