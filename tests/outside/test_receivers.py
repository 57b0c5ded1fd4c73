"""The simulated nodes of tests/receivers.py: by the standards' words, and beside the sacn package 1.11.0.

The package's receiver keeps priorities and sequence numbers per universe, not per source, and merges nothing:
it is asked where one source is highest and numbers count on across sources.
"""

import uuid

import pytest
from sacn.messages.data_packet import DataPacket
from sacn.receiving.receiver_handler import ReceiverHandler, ReceiverHandlerListener
from sacn.receiving.receiver_socket_base import ReceiverSocketBase

from tests.receivers import ArtNetNode, SacnNode

__all__: list[str] = []

A, B = (uuid.UUID(int=number) for number in (5, 6))
FROM = ("10.0.0.9", 5568)


def packet(cid: uuid.UUID, levels: bytes, priority: int = 100, sequence: int = 0, code: int = 0) -> bytes:
    built = DataPacket(tuple(cid.bytes), "Somebody", 1, tuple(levels), priority, sequence)
    built.dmxStartCode = code
    return bytes(built.getBytes())


def filled(level: int, first: int | None = None) -> bytes:
    return bytes([level if first is None else first]) + bytes([level]) * 511


class _Package(ReceiverHandlerListener):  # type: ignore[misc]
    """What the package's receiver was told last."""

    def __init__(self) -> None:
        self.levels = bytes(512)
        self._handler = ReceiverHandler("", 0, self, ReceiverSocketBase(self))

    def take(self, sent: bytes, now: float) -> None:
        self._handler.on_data(sent, now)

    def on_dmx_data_change(self, packet: DataPacket) -> None:
        self.levels = bytes(packet.dmxData)

    def on_availability_change(self, universe: int, changed: str) -> None:
        """Nothing follows from it here."""


@pytest.mark.parametrize("priorities", [(100, 120), (120, 100), (0, 200), (99, 100)])
def test_the_higher_priority_has_all_and_after_its_loss_the_other(
    priorities: tuple[int, int],
) -> None:
    node, package = SacnNode(1, reads_each=False), _Package()
    higher = A if priorities[0] > priorities[1] else B
    at = 0
    for at in range(200):  # 44 a second; the higher one ends after a second
        now = at / 44
        for number, (cid, priority) in enumerate(zip((A, B), priorities, strict=True)):
            if cid is not higher or at < 44:
                sent = packet(cid, filled(10 + at % 9 + 100 * number), priority, (2 * at + number) % 256)
                node.take(sent, FROM, now)
                package.take(sent, now)
        if not 44 <= at <= 44 + 2.5 * 44 + 2:  # which of them is first at 2.5 s is a matter of one packet
            assert node.shown(now) == package.levels
    assert at / 44 > 4


def test_equal_priorities_merge_and_what_comes_late_is_left_out() -> None:
    # E1.31-2018, 6.2.3.2 names the highest level per slot; 6.7.2 discards differences of -20 < d <= 0.
    node = SacnNode(1, reads_each=False)
    node.take(packet(A, filled(10, 200), sequence=5), FROM, 0.0)
    node.take(packet(B, filled(20, 30)), FROM, 0.0)
    assert node.shown(0.1) == filled(20, 200)
    node.take(packet(A, filled(99), sequence=4), FROM, 0.1)
    assert node.shown(0.1) == filled(20, 200)
    node.take(packet(A, filled(99), sequence=6), FROM, 0.1)
    assert node.shown(0.1) == filled(99)


def test_a_terminated_source_is_gone_at_once_and_a_preview_never_counts() -> None:
    node = SacnNode(1, reads_each=False)
    node.take(packet(A, filled(50)), FROM, 0.0)
    node.take(packet(B, filled(9), priority=200) | _bit(0x80), FROM, 0.0)
    assert node.shown(0.1) == filled(50)
    node.take(packet(B, filled(9), priority=50), FROM, 0.2)
    node.take(packet(A, filled(77), sequence=1) | _bit(0x40), FROM, 0.3)
    assert node.shown(0.3) == filled(9)


def test_priorities_of_slots_are_read_by_one_kind_of_node_only() -> None:
    # The registrant's note on START code 0xDD: 0 is no drive; without any, the packet's priority counts for
    # all; when they stop while levels go on it counts again, after 2.5 s.
    each, plain = SacnNode(1, reads_each=True), SacnNode(1, reads_each=False)
    for now in (0.0, 1.6):
        for node in (each, plain):
            at = int(now * 10)
            node.take(packet(A, filled(10), 100, at), FROM, now)
            node.take(packet(B, filled(20, 200), 99, at), FROM, now)
            node.take(packet(B, bytes([101]) + bytes(511), 99, at + 1, 0xDD), FROM, now)
    assert (each.shown(1.7), plain.shown(1.7)) == (filled(10, 200), filled(10))
    for at in range(3):
        for node in (each, plain):
            node.take(packet(A, filled(10), 100, 20 + at), FROM, 2.5 + at)
            node.take(packet(B, filled(20, 200), 99, 20 + at), FROM, 2.5 + at)
    assert (each.shown(4.6), plain.shown(4.6)) == (filled(10), filled(10))


def test_by_art_net_two_senders_merge_a_third_is_ignored_and_who_stops_is_held_for_ten_seconds() -> None:
    # Art-Net 4, Data Merging.
    node, head = ArtNetNode(1), b"Art-Net\0\0\x50\0\x0e\0\0\1\0\2\0"
    for host, level in ((5, 10), (6, 20), (7, 30)):
        node.take(head + filled(level), (f"10.0.0.{host}", 6454), 0.0)
    assert node.shown(0.1) == filled(20)
    node.take(head + filled(10), ("10.0.0.5", 6454), 5.0)
    assert (node.shown(9.9), node.shown(10.1)) == (filled(20), filled(10))
    assert node.shown(99.0) == filled(10)


class _bit:  # noqa: N801 - reads as an operator
    """Sets bits of Options (E1.31-2018, 6.2.6) in a packet."""

    def __init__(self, bits: int) -> None:
        self._bits = bits

    def __ror__(self, sent: bytes) -> bytes:
        return sent[:112] + bytes([sent[112] | self._bits]) + sent[113:]
