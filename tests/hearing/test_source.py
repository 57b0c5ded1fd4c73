"""One source: which of its packets count, and when it is gone. Figures of E1.31-2018 and Art-Net 4."""

import pytest

from server.hearing.source import Source
from tests.hearing.packets import DESK, dmx, sacn

__all__: list[str] = []


def source() -> Source:
    return Source("sacn", str(DESK), "Desk", "10.0.0.9", 100, 0.0)


@pytest.mark.parametrize(
    ("last", "new", "counts"),
    [
        # E1.31-2018, 6.7.2: discarded where -20 < B - A <= 0 in 8-bit signed arithmetic.
        *((100, 101, True), (100, 100, False), (100, 99, False), (100, 81, False), (100, 80, True)),
        *((255, 0, True), (0, 255, False), (5, 242, False), (5, 241, True), (0, 128, True)),
    ],
)
def test_a_packet_out_of_order_is_discarded_and_counted(last: int, new: int, counts: bool) -> None:
    one = source()
    one.take_sacn(sacn(levels=[1], sequence=last), "10.0.0.9", 0.0)
    one.take_sacn(sacn(levels=[2], sequence=new), "10.0.0.9", 0.1)
    assert (one.levels()[0], one.late) == ((2, 0) if counts else (1, 1))


def test_after_a_loss_any_sequence_is_accepted() -> None:
    one = source()
    one.take_sacn(sacn(levels=[1], sequence=100), "10.0.0.9", 0.0)
    one.take_sacn(sacn(levels=[2], sequence=99), "10.0.0.9", 2.5)
    assert (one.levels()[0], one.since, one.state(2.5)) == (2, 2.5, "live")


def test_silence_of_two_and_a_half_seconds_is_a_loss() -> None:
    # 6.7.1: E131_NETWORK_DATA_LOSS_TIMEOUT
    one = source()
    one.take_sacn(sacn(levels=[1]), "10.0.0.9", 0.0)
    assert [one.state(now) for now in (2.4, 2.5)] == ["live", "lost"]


def test_a_terminated_packet_ends_it_at_once_and_its_values_are_ignored() -> None:
    one = source()
    one.take_sacn(sacn(levels=[1], sequence=1), "10.0.0.9", 0.0)
    one.take_sacn(sacn(levels=[255], sequence=2, terminated=True), "10.0.0.9", 0.1)
    assert (one.state(0.1), one.levels().max()) == ("terminated", 0)
    one.take_sacn(sacn(levels=[9], sequence=1), "10.0.0.9", 0.2)
    assert (one.state(0.2), one.levels()[0]) == ("live", 9)


def test_the_end_of_a_stream_that_comes_by_two_ways_is_its_end() -> None:
    one = source()
    for sequence in (1, 2):
        one.take_sacn(sacn(levels=[sequence], sequence=sequence), "10.0.0.9", 0.0)
    for sequence in (3, 4, 5):  # E1.31-2018, 6.2.6: three
        one.take_sacn(sacn(sequence=sequence, terminated=True), "10.0.0.9", 0.1)
    for sequence in (1, 2):  # copies that were on their way
        one.take_sacn(sacn(levels=[sequence], sequence=sequence), "fe80::9%2", 0.1)
    assert (one.state(0.1), one.late) == ("terminated", 0)


def test_it_is_told_where_it_sends_from_as_long_as_packets_come_from_there() -> None:
    one = source()
    for sequence, address in enumerate(("10.0.0.9", "fe80::9%2", "10.0.0.9", "fe80::9%2")):
        one.take_sacn(sacn(sequence=sequence), address, sequence / 44)
        assert one.address == "10.0.0.9"
    for sequence in (4, 5, 6):
        one.take_sacn(sacn(sequence=sequence), "fe80::9%2", float(sequence - 3))
    assert (one.address, one.state(3.0), one.frames) == ("fe80::9%2", "live", 7)


def test_a_preview_is_told_and_never_shown() -> None:
    # 6.2.6, bit 7
    one = source()
    one.take_sacn(sacn(levels=[7], sequence=1, preview=True), "10.0.0.9", 0.0)
    assert (one.state(0.0), one.levels().max()) == ("preview", 0)
    one.take_sacn(sacn(levels=[8], sequence=2), "10.0.0.9", 0.1)
    one.take_sacn(sacn(levels=[9], sequence=3, preview=True), "10.0.0.9", 0.2)
    assert (one.state(0.2), one.levels()[0]) == ("live", 8)
    one.take_sacn(sacn(levels=[9], sequence=4, preview=True), "10.0.0.9", 2.6)
    assert one.state(2.6) == "preview"


def test_priorities_of_slots_that_stop_coming_are_forgotten_and_levels_that_stop_end_it() -> None:
    # START code 0xDD, the registrant's note: 2.5 s, and levels are timed by themselves.
    one = source()
    one.take_sacn(sacn(levels=[1], sequence=1), "10.0.0.9", 0.0)
    one.take_sacn(sacn(levels=[150, 0, 255], sequence=2, start_code=0xDD), "10.0.0.9", 0.0)
    each = one.each(2.4)
    assert each is not None
    assert each[:4].tolist() == [150, 0, 200, 0]
    one.take_sacn(sacn(levels=[1], sequence=3), "10.0.0.9", 2.4)
    assert (one.each(2.5), one.state(2.5)) == (None, "live")
    one.take_sacn(sacn(levels=[150], sequence=4, start_code=0xDD), "10.0.0.9", 4.9)
    assert one.state(4.9) == "lost"


@pytest.mark.parametrize("start_code", [0x01, 0x17, 0x55, 0xCC, 0xCF, 0xFF])
def test_other_start_codes_never_reach_the_levels(start_code: int) -> None:
    one = source()
    one.take_sacn(sacn(levels=[1], sequence=1), "10.0.0.9", 0.0)
    one.take_sacn(sacn(levels=[99], sequence=2, start_code=start_code), "10.0.0.9", 0.1)
    assert (one.levels()[0], one.each(0.1)) == (1, None)


def test_art_net_is_held_for_ten_seconds_and_sequence_0_does_not_count() -> None:
    # Art-Net 4, Data Merging and ArtDmx
    one = Source("artnet", "10.0.0.8/0", "", "10.0.0.8", 100, 0.0)
    one.take_artnet(dmx([1], sequence=9), 0.0)
    one.take_artnet(dmx([2], sequence=8), 0.1)
    assert (one.levels()[0], one.late) == (1, 1)
    one.take_artnet(dmx([3], sequence=0), 0.2)
    one.take_artnet(dmx([4], sequence=8), 0.3)
    assert one.levels()[0] == 4
    assert [one.state(now) for now in (10.2, 10.4)] == ["live", "lost"]


def test_the_rate_is_counted_and_a_loss_noticed() -> None:
    one = source()
    for sequence in range(88):
        one.take_sacn(sacn(sequence=sequence), "10.0.0.9", sequence / 44)
    one.look(2.0, 2.0)
    assert one.frames_per_s == 44
    one.look(4.6, 2.6)
    assert (one.frames_per_s, one.state(4.6)) == (0, "lost")


def test_levels_are_a_view_of_what_came() -> None:
    one, packet = source(), sacn(levels=[5])
    one.take_sacn(packet, "10.0.0.9", 0.0)
    assert one.levels().base is not None
    assert one.levels().tobytes() == bytes(packet.slots)


def desk() -> Source:
    return Source("artnet", "10.0.0.9/0", "", "10.0.0.9", 100, 0.0)


@pytest.mark.parametrize(
    ("every_s", "gone_after_s"),
    [
        # Art-Net 4: what is unchanged is repeated each 0.8 to 1.0 s; before: each 4 s. Data Merging: 10 s.
        *((0.023, 2.5), (0.9, 2.5), (1.0, 2.5), (4.0, 10.0)),
    ],
)
def test_an_artnet_source_is_gone_as_soon_as_its_own_repeats_allow(
    every_s: float, gone_after_s: float
) -> None:
    one, now = desk(), 0.0
    while now < 20:
        one.take_artnet(dmx([1]), now)
        last, now = now, now + every_s
    states = [one.state(last + gone_after_s + more) for more in (-0.01, 0.01)]
    assert states == ["live", "lost"]


def test_how_often_it_repeats_is_not_guessed_while_its_levels_move() -> None:
    one = desk()
    for step in range(400):
        one.take_artnet(dmx([step % 256]), step / 40)
    assert one.state(10 + 9.9) == "live"


def test_one_long_pause_makes_it_slow_until_it_is_seen_to_repeat_again() -> None:
    one = desk()
    for now in (*range(6), *range(9, 11)):
        one.take_artnet(dmx([1]), float(now))
    assert one.state(10 + 9.9) == "live"
    for now in range(11, 14):
        one.take_artnet(dmx([1]), float(now))
    assert [one.state(13 + 2.4), one.state(13 + 2.6)] == ["live", "lost"]
