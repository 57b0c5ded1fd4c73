"""Packets as somebody else's console sends them, by the clock of a test."""

import uuid
from collections.abc import Sequence

from sacn.messages.data_packet import DataPacket

from server.wire import artnet, e131

__all__ = ["DESK", "OTHER", "OURS", "dmx", "sacn"]

OURS, DESK, OTHER = (uuid.UUID(int=number) for number in (1, 2, 3))


def sacn(
    cid: uuid.UUID = DESK,
    levels: Sequence[int] = (),
    *,
    name: str = "Desk",
    universe: int = 1,
    priority: int = 100,
    sequence: int = 0,
    start_code: int = 0,
    preview: bool = False,
    terminated: bool = False,
) -> e131.Data:
    """A data packet that the sacn package built, read by us; it always carries 512 slots."""
    built = DataPacket(tuple(cid.bytes), name, universe, tuple(levels), priority, sequence)
    built.dmxStartCode = start_code
    built.option_PreviewData, built.option_StreamTerminated = preview, terminated
    read = e131.decode(bytes(built.getBytes()))
    assert isinstance(read, e131.Data)
    return read


def dmx(
    levels: Sequence[int] = (), *, port_address: int = 1, sequence: int = 0, physical: int = 0
) -> artnet.Dmx:
    """An ArtDmx of 512 slots, read by us."""
    packet = artnet.dmx_packet(port_address)
    packet[12], packet[13] = sequence, physical
    packet[18 : 18 + len(levels)] = bytes(levels)
    read = artnet.decode(bytes(packet))
    assert isinstance(read, artnet.Dmx)
    return read
