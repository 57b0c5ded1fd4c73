"""Datagrams of consoles, in a row: whatever comes, a universe shows levels, or nobody drives it."""

import uuid
from contextlib import suppress

from server.hearing.sources import MOST, Sources
from server.hearing.told import Ours, alerts
from server.wire import artnet, e131
from server.wire.error import WireError

__all__ = ["SEEDS", "one"]

_OURS, _DESK = uuid.UUID(int=1).bytes, uuid.UUID(int=2).bytes
_SACN, _ARTNET = bytes(e131.data_packet(_DESK, "Desk", 1)), bytes(artnet.dmx_packet(1))
_EACH = _SACN[:111] + b"\1" + _SACN[112:125] + b"\xdd" + bytes(range(256)) * 2
SEEDS = (
    b"".join(len(packet).to_bytes(2, "big") + packet for packet in (_SACN, _EACH, _ARTNET)),
    len(_SACN).to_bytes(2, "big") + _SACN,
)


def one(data: bytes) -> None:
    """Each datagram with its length before it, a tenth of a second apart."""
    sources, now = Sources(_OURS), 0.0
    sources.want([1])
    while len(data) > 2:
        length = int.from_bytes(data[:2], "big")
        packet, data, now = data[2 : 2 + length], data[2 + length :], now + 0.1
        with suppress(WireError):
            if isinstance(read := e131.decode(packet), e131.Data):
                sources.take_sacn(read, "10.0.0.9", now)
        with suppress(WireError):
            if isinstance(levels := artnet.decode(packet), artnet.Dmx):
                sources.take_artnet(levels, levels.port_address, "10.0.0.8", now)
        sources.look(now)
    shown = sources.shown(1, now)
    assert len(sources.all(1)) <= MOST
    assert all(alerts(sources, lambda _: Ours(100), now))
    if shown is not None:
        assert len(shown.levels) == 512
        assert set(shown.drivers.tolist()) <= {-1, *range(len(shown.sources))}
        assert shown.priorities.max() <= 200  # E1.31-2018, 6.2.3
