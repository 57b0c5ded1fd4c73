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


def test_a_universe_without_outputs_goes_nowhere() -> None:
    assert not stream().goes_somewhere
    assert stream(ArtNet("10.0.0.3")).goes_somewhere
