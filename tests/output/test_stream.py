"""One universe's packets: what is in them and where they go."""

import uuid
from math import inf

from server.output.batch import Entry
from server.output.pacing import CLOSEST_S, FRAME_S
from server.output.place import ART_NET, By, Place, plain_sacn
from server.output.plan import ArtNet, Sacn, UniversePlan
from server.output.stream import Source, Stream, shares
from server.wire import artnet, e131

__all__: list[str] = []

CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e").bytes
SOURCE = Source(bytes(e131.data_packet(CID, "Test", 1)), None)
FULL = bytes([255]) * 512


def stream(
    *outputs: Sacn | ArtNet, off_limits: tuple[tuple[int, int], ...] = (), per_slot: bool = False
) -> Stream:
    planned = UniversePlan(7962, outputs, off_limits=off_limits, per_slot=per_slot)
    return Stream(planned, SOURCE, 3)


def read(packet: bytearray) -> e131.Data:
    value = e131.decode(bytes(packet))
    assert isinstance(value, e131.Data)
    return value


def test_multicast_goes_to_the_universes_own_group() -> None:
    # E1.31-2018, Appendix B: universe 7962 is heard on 239.255.31.26; 9.1.1: port 5568.
    ((packet, places),) = stream(Sacn()).sacn
    assert places == [Place(plain_sacn(None), ("239.255.31.26", 5568), 7962, multicast=True)]
    assert (read(packet).universe, read(packet).priority) == (7962, 100)


def test_one_packet_for_each_priority_and_each_port_address() -> None:
    made = stream(Sacn(), Sacn("10.0.0.1"), Sacn("10.0.0.2", priority=50), ArtNet("10.0.0.3", port_address=5))
    assert [(read(packet).priority, len(places)) for packet, places in made.sacn] == [(100, 2), (50, 1)]
    assert [places for _, places in made.artnet] == [[Place(ART_NET, ("10.0.0.3", 6454), 5)]]


def test_one_packet_for_each_number_on_the_wire() -> None:
    made = stream(Sacn(), Sacn("10.0.0.1", universe=9), Sacn(universe=9), ArtNet("10.0.0.3"))
    assert [(read(packet).universe, len(places)) for packet, places in made.sacn] == [(7962, 1), (9, 2)]
    assert made.sacn[1][1][1].address == ("239.255.0.9", 5568)


def test_outputs_of_several_rates_are_several_streams_the_fastest_first() -> None:
    slow, fast = Sacn("10.0.0.1", most_hz=10), Sacn("10.0.0.2")
    planned = UniversePlan(1, (slow, fast, ArtNet("10.0.0.3", most_hz=10)))
    made = shares(planned, None)
    assert [(share.outputs, hz) for share, hz in made] == [
        ((fast,), 44),
        ((slow, ArtNet("10.0.0.3", most_hz=10)), 10),
    ]
    assert shares(planned, 10) == [(planned, 10)]
    assert shares(UniversePlan(1, ()), None) == [(UniversePlan(1, ()), 44)]


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
    after.carry_on([before], 0.2)
    assert after.slots == FULL
    assert after.pace.due == 0.2


def test_slots_that_become_off_limits_go_to_0_at_once() -> None:
    before = stream(Sacn())
    before.show(FULL)
    before.pace.changed(0.0)
    for _ in range(4):
        before.pace.sent(before.pace.due)
    after = stream(Sacn(), off_limits=((1, 1),))
    after.carry_on([before], 0.5)
    assert after.pace.due == 0.5
    assert after.slots[0] == 0


def test_the_end_is_told_to_those_it_ends_for_and_no_sooner_than_the_pace_allows() -> None:
    made = stream(Sacn("10.0.0.1"), Sacn("10.0.0.2"))
    made.show(FULL)
    made.pace.changed(1.0)
    made.pace.sent(1.0)
    told = made.places[1]
    ending = made.ending([told], 1.001)
    ((packet, places),) = ending.packets
    assert places == ending.places == [told]
    assert read(packet).terminated
    assert not read(made.sacn[0][0]).terminated
    assert (ending.pace.due, ending.pace.last) == (1.0 + CLOSEST_S, 1.0)
    ending.pace.sent(2.0)
    assert ending.pace.due == 2.0 + FRAME_S
    ending.spare({(("10.0.0.2", 5568), 7962)})
    assert ending.packets[0][1] == []


HELD = bytes([150]) + bytes(511)


def test_priorities_of_slots_go_wherever_levels_go_by_sacn_and_nowhere_else() -> None:
    made = stream(Sacn(), Sacn("10.0.0.1", priority=90), ArtNet("10.0.0.3"), per_slot=True)
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
    made = stream(Sacn(), off_limits=((1, 2), (512, 512)), per_slot=True)
    made.show(FULL, FULL)
    assert bytes(read(made.each[0][0]).slots) == bytes(2) + bytes([200]) * 509 + bytes(1)


def test_without_being_asked_for_priorities_are_no_change_and_go_nowhere() -> None:
    made = stream(Sacn())
    assert made.show(FULL, HELD)
    assert not made.show(FULL)
    assert made.each == []


def test_priorities_carry_the_number_after_the_levels_of_their_frame() -> None:
    made = stream(Sacn("10.0.0.1"), per_slot=True)
    made.show(FULL, HELD)
    made.pace.changed(0.0)
    batches: dict[By, list[Entry]] = {ART_NET: [], plain_sacn(None): [(bytearray(), ("10.0.0.9", 9))]}
    made.place_in(batches)
    levels, each = made.sacn[0][0], made.each[0][0]
    assert batches[plain_sacn(None)][1:] == [(levels, ("10.0.0.1", 5568)), (each, ("10.0.0.1", 5568))]
    assert made.number_each(255, 0.0) == 0
    assert (read(each).sequence, made.spans) == (0, ((0, 0), (1, 3)))
    for _ in range(3):
        made.number_each(1, 0.1)
    assert made.number_each(8, 0.2) == 8, "this frame goes without"
    assert made.spans == ((0, 0), (1, 2))


def test_a_stream_of_another_rate_keeps_its_distance_from_the_last_packet() -> None:
    before = stream(Sacn("10.0.0.1"))
    before.show(FULL)
    before.pace.changed(5.0)
    before.pace.sent(5.0)
    slow = UniversePlan(7962, (Sacn("10.0.0.1", most_hz=4),))
    after = Stream(slow, SOURCE, 3, 4)
    after.carry_on([before], 5.001)
    assert after.pace is not before.pace
    assert 5.24 < after.pace.due < 5.25


def test_before_its_first_picture_nothing_is_shown_and_nothing_due() -> None:
    before, after = stream(Sacn()), stream(Sacn(), Sacn("10.0.0.1"))
    after.carry_on([before], 1.0)
    assert (after.slots, after.pace.due) == (b"", inf)
