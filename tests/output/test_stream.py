"""One universe's packets: what is in them and where they go."""

import uuid

from server.output.pacing import CLOSEST_S, FRAME_S
from server.output.plan import ArtNet, Sacn, UniversePlan
from server.output.stream import Stream
from server.wire import artnet, e131

__all__: list[str] = []

CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e").bytes
TEMPLATE = bytes(e131.data_packet(CID, "Test", 1))
FULL = bytes([255]) * 512


def stream(*outputs: Sacn | ArtNet, off_limits: tuple[tuple[int, int], ...] = ()) -> Stream:
    return Stream(UniversePlan(7962, outputs, off_limits=off_limits), TEMPLATE, 3)


def read(packet: bytearray) -> e131.Data:
    value = e131.decode(bytes(packet))
    assert isinstance(value, e131.Data)
    return value


def test_multicast_goes_to_the_universes_own_group() -> None:
    # E1.31-2018, Appendix B: universe 7962 is heard on 239.255.31.26; 9.1.1: port 5568.
    ((packet, addresses),) = stream(Sacn()).sacn
    assert addresses == [("239.255.31.26", 5568)]
    assert (read(packet).universe, read(packet).priority) == (7962, 100)


def test_one_packet_for_each_priority_and_each_port_address() -> None:
    made = stream(Sacn(), Sacn("10.0.0.1"), Sacn("10.0.0.2", priority=50), ArtNet("10.0.0.3", port_address=5))
    assert [(read(packet).priority, len(addresses)) for packet, addresses in made.sacn] == [(100, 2), (50, 1)]
    assert [addresses for _, addresses in made.artnet] == [[("10.0.0.3", 6454)]]


def test_the_same_levels_again_are_no_change() -> None:
    made = stream(Sacn(), ArtNet("10.0.0.3"))
    assert made.show(FULL)
    assert not made.show(FULL)
    assert read(made.sacn[0][0]).slots == FULL
    assert made.artnet[0][0][artnet.DMX_SLOTS] == FULL


def test_off_limits_slots_are_0_in_every_packet_and_a_change_of_theirs_is_none() -> None:
    made = stream(Sacn(), ArtNet("10.0.0.3"), off_limits=((1, 2), (512, 512)))
    made.show(FULL)
    expected = bytes(2) + FULL[2:511] + bytes(1)
    assert read(made.sacn[0][0]).slots == expected
    assert made.artnet[0][0][artnet.DMX_SLOTS] == expected
    assert not made.show(b"\1\2" + FULL[2:])


def test_a_new_receiver_gets_the_picture_at_once_and_the_pace_is_kept() -> None:
    before = stream(Sacn())
    before.show(FULL)
    before.pace.changed(0.0)
    while before.pace.due < 0.2:
        before.pace.sent(before.pace.due)
    after = stream(Sacn(), ArtNet("10.0.0.3"))
    after.carry_on(before, 0.2)
    assert after.slots == FULL
    assert after.pace.due == 0.2


def test_slots_that_become_off_limits_go_to_0_at_once() -> None:
    before = stream(Sacn())
    before.show(FULL)
    before.pace.changed(0.0)
    for _ in range(4):
        before.pace.sent(before.pace.due)
    after = stream(Sacn(), off_limits=((1, 1),))
    after.carry_on(before, 0.5)
    assert after.pace.due == 0.5
    assert after.slots[0] == 0


def test_the_end_is_told_to_those_it_ends_for_and_no_sooner_than_the_pace_allows() -> None:
    made = stream(Sacn("10.0.0.1"), Sacn("10.0.0.2"))
    made.show(FULL)
    made.pace.changed(1.0)
    made.pace.sent(1.0)
    ending = made.ending({("10.0.0.2", 5568)}, 1.001)
    ((packet, addresses),) = ending.packets
    assert addresses == [("10.0.0.2", 5568)]
    assert read(packet).terminated
    assert not read(made.sacn[0][0]).terminated
    assert ending.pace.due == 1.0 + CLOSEST_S
    ending.pace.sent(2.0)
    assert ending.pace.due == 2.0 + FRAME_S
    ending.spare({("10.0.0.2", 5568)})
    assert ending.packets[0][1] == []


HELD = bytes([150]) + bytes(511)


def ranked(*outputs: Sacn | ArtNet, off_limits: tuple[tuple[int, int], ...] = ()) -> Stream:
    return Stream(UniversePlan(7962, outputs, off_limits=off_limits, per_slot=True), TEMPLATE, 3)


def test_priorities_of_slots_go_wherever_levels_go_by_sacn_and_nowhere_else() -> None:
    made = ranked(Sacn(), Sacn("10.0.0.1", priority=90), ArtNet("10.0.0.3"))
    assert made.show(FULL, HELD)
    assert not made.show(FULL, HELD)
    assert made.show(FULL, bytes(512)), "a change of priorities is a change"
    assert made.show(FULL, HELD)
    for (levels, to), (each, each_to) in zip(made.sacn, made.each, strict=True):
        assert to == each_to
        told = read(each)
        assert (read(levels).start_code, told.start_code) == (0, 0xDD)
        assert (told.priority, told.universe, bytes(told.slots)) == (read(levels).priority, 7962, HELD)


def test_no_priority_stands_for_a_slot_that_is_off_limits_and_none_above_200_is_sent() -> None:
    # The note on 0xDD: 201 to 255 are the receivers' own.
    made = ranked(Sacn(), off_limits=((1, 2), (512, 512)))
    made.show(FULL, FULL)
    assert bytes(read(made.each[0][0]).slots) == bytes(2) + bytes([200]) * 509 + bytes(1)


def test_without_being_asked_for_priorities_are_no_change_and_go_nowhere() -> None:
    made = stream(Sacn())
    assert made.show(FULL, HELD)
    assert not made.show(FULL)
    assert made.each == []


def test_priorities_carry_the_number_after_the_levels_of_their_frame() -> None:
    made = ranked(Sacn("10.0.0.1"))
    made.show(FULL, HELD)
    made.pace.changed(0.0)
    made.place_at((4, 5, 6), (0, 0))
    assert made.number_each(255, 0.0) == 0
    assert (read(made.each[0][0]).sequence, made.sacn_span) == (0, (4, 6))
    for _ in range(3):
        made.number_each(1, 0.1)
    assert made.number_each(8, 0.2) == 8, "this frame goes without"
    assert made.sacn_span == (4, 5)


def test_a_universe_without_outputs_goes_nowhere() -> None:
    assert not stream().goes_somewhere
    assert stream(ArtNet("10.0.0.3")).goes_somewhere
