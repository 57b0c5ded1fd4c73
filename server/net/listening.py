"""Reading a UDP socket so that a flood of packets keeps nobody waiting."""

import asyncio
import socket
from collections.abc import Callable
from typing import Any

__all__ = ["Address", "Listening"]

Address = tuple[str, int]  # host and port

_LONGEST = 2048  # octets; no packet of sACN or Art-Net is longer than 1144 (E1.31-2018, 8)
_AT_ONCE = 64  # datagrams: about half a millisecond. A console sends its universes in one go
_REST_S = 0.005  # then everything else has its turn: 12,800 datagrams a second are read, 290 universes


class Listening:
    """Hands every datagram of a socket to `take`, in bounded helpings, until it is closed.

    The kernel keeps what comes meanwhile, and drops what is too much.
    """

    def __init__(self, own: socket.socket, take: Callable[[bytes, Address], None]) -> None:
        """own: bound and not blocking; closed with this. take: raises nothing. Needs a running loop."""
        self.socket = own
        self._take = take
        self._task = asyncio.get_running_loop().create_task(self._run())

    async def close(self) -> None:
        """Read nothing more; the socket is closed when this returns."""
        self._task.cancel()
        await asyncio.wait([self._task])
        self.socket.close()

    async def _run(self) -> None:
        loop = asyncio.get_running_loop()
        while True:
            try:
                datagram, sender = await loop.sock_recvfrom(self.socket, _LONGEST)
                self._take(datagram, _address(sender))
                for _ in range(_AT_ONCE - 1):
                    datagram, sender = self.socket.recvfrom(_LONGEST)
                    self._take(datagram, _address(sender))
            except OSError:
                pass  # nothing more is there; or the system tells of something sent, which says nothing here
            await asyncio.sleep(_REST_S)


def _address(sender: tuple[Any, ...]) -> Address:
    # An address that means something next door only says on which interface: fe80::9%2 (RFC 4007, 11.2).
    if len(sender) == 4 and sender[3]:
        return f"{sender[0]}%{sender[3]}", sender[1]
    return sender[0], sender[1]
