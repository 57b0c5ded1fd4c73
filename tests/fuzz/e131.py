"""Packets of sACN: a value, or WireError."""

import uuid
from contextlib import suppress

from server.wire import e131
from server.wire.error import WireError

__all__ = ["SEEDS", "one"]

_CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e").bytes
SEEDS = (
    bytes(e131.data_packet(_CID, "A source", 1)),
    bytes(e131.sync_packet(_CID, 7)),
    *e131.discovery_pages(_CID, "A source", range(1, 600)),
)


def one(data: bytes) -> None:
    """What it decodes to is within the standard's own limits."""
    with suppress(WireError):
        read = e131.decode(data)
        if isinstance(read, e131.Data):
            assert 1 <= read.universe <= 63999  # E1.31-2018, 6.2.7
            assert len(read.slots) <= 512
            assert 0 <= read.priority <= 200  # 6.2.3
            assert e131.decode(data + b"\0") == read  # octets after the end mean nothing
