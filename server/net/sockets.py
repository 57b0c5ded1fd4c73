"""Sockets that several programs on one machine can share."""

import socket
import sys

__all__ = ["open_shared"]

_BUFFER_OCTETS = 1 << 20  # a second of 44 full universes, should the loop be busy that long


def open_shared(port: int, address: str = "", family: socket.AddressFamily = socket.AF_INET) -> socket.socket:
    """A UDP socket that hears unicast and broadcast on a port others may use too; not blocking.

    address: one of ours; by default all of them, which on Linux is the only way to hear broadcasts.
    family: AF_INET, or AF_INET6 for IPv6 and nothing else.
    Raises OSError: somebody uses the port alone, the address is not ours, or there is no IPv6.
    """
    made = socket.socket(family, socket.SOCK_DGRAM)
    try:
        if family == socket.AF_INET6:  # IPv4 has a socket of its own
            made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if sys.platform not in ("linux", "win32"):
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)  # what BSD and macOS call the same
        made.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
        made.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, _BUFFER_OCTETS)
        made.setblocking(False)
        made.bind((address, port))
    except OSError:
        made.close()
        raise
    return made
