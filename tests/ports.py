"""Ports for what is started a moment later, and started again: nobody gets one of them meanwhile."""

import os
import socket
from itertools import count

__all__ = ["free_port"]

# Below what systems give to whoever asks for any port (32768 on Linux, 49152 by RFC 6335, 6).
_FIRST, _EACH, _SIDE_BY_SIDE = 10_000, 1_400, 16
_WORKER = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw")) % _SIDE_BY_SIDE
_NUMBERS = count(os.getpid())  # two runs on one machine begin at different ones


def free_port(kind: socket.SocketKind = socket.SOCK_DGRAM) -> int:
    """One that nobody has, and that no other call here and in processes beside this one gives soon."""
    while True:
        port = _FIRST + _WORKER * _EACH + next(_NUMBERS) % _EACH
        with socket.socket(socket.AF_INET, kind) as probe:
            try:
                probe.bind(("", port))
            except OSError:
                continue
        return port
