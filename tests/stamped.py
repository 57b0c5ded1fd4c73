"""UDP receivers on loopback that know when each packet came, however late a busy test reads it."""

import contextlib
import socket
import struct
import sys
import time
from math import inf

__all__ = ["STAMPED", "Clock", "receiver", "stamp_of"]

STAMPED = sys.platform == "linux"  # elsewhere a packet came when it was read
_SO_TIMESTAMPNS = 35  # Linux; the standard library has no name for it
_SO_RCVBUFFORCE = 33  # for root: more than the system's usual largest buffer
_BUFFER = 1 << 24
_AT_ONCE_S = 1e-4  # two readings closer than this were not held up in between


def receiver(host: str = "127.0.0.1", port: int = 0) -> socket.socket:
    """A socket with room for some seconds of packets, which the kernel stamps where it can.

    port: one that others may have, too; 0 is any that is free.
    """
    made = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    for option in (socket.SO_RCVBUF, _SO_RCVBUFFORCE) if STAMPED else (socket.SO_RCVBUF,):
        with contextlib.suppress(OSError):  # not root
            made.setsockopt(socket.SOL_SOCKET, option, _BUFFER)
    if STAMPED:
        made.setsockopt(socket.SOL_SOCKET, _SO_TIMESTAMPNS, 1)
    if port:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    made.bind((host, port))
    return made


def stamp_of(told: list[tuple[int, int, bytes]]) -> float:
    """When a packet came by the wall clock, seconds; told: what `recvmsg` gives beside it (socket(7))."""
    whole, nanoseconds = struct.unpack("=qq", told[0][2])
    return float(whole + nanoseconds * 1e-9)


class Clock:
    """Reads packets of one socket with the monotonic time at which each came, never one before the last."""

    def __init__(self) -> None:
        self._apart, self._last = inf, -inf  # from the wall clock to the monotonic one
        while self._apart == inf:
            self._look()

    def _look(self) -> float:
        """What time it is now; a wall clock that was set since is followed."""
        before, now, after = time.time(), time.monotonic(), time.time()
        if 0 <= after - before < _AT_ONCE_S:
            self._apart = now - after
        return now

    def read(self, by: socket.socket) -> tuple[float, bytes, tuple[str, int]]:
        """Time, packet and sender; raises what the socket raises."""
        if STAMPED:
            packet, told, _, sender = by.recvmsg(2000, 64)
            at = min(self._look(), stamp_of(told) + self._apart)
        else:
            packet, sender = by.recvfrom(2000)
            at = time.monotonic()
        self._last = max(self._last, at)
        return self._last, packet, sender
