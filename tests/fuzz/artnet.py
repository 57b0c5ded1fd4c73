"""Packets of Art-Net: a value, or WireError; and what answers a poll is taken in without a word."""

from contextlib import suppress

from server.wire import artnet
from server.wire.error import WireError

__all__ = ["SEEDS", "WORDS", "one"]

SEEDS = (
    bytes(artnet.dmx_packet(4660)),
    artnet.encode_poll(artnet.Poll()),
    artnet.encode_sync(),
    artnet.encode_poll_reply(artnet.PollReply(ip="127.0.0.1", port_types=b"\x80\x40\x80\0")),
)
WORDS = (b"Art-Net\0", b"\x00\x20", b"\x00\x21", b"\x00\x50", b"\x00\x52")


def one(data: bytes) -> None:
    """What it decodes to is within the standard's own limits."""
    with suppress(WireError):
        read = artnet.decode(data)
        if isinstance(read, artnet.Dmx):
            assert len(read.slots) in range(2, 513, 2)
            assert 0 <= read.port_address <= 32767
        if isinstance(read, artnet.PollReply):
            assert all(0 <= port <= 32767 for port in (*read.outputs, *read.inputs, *read.merging))
