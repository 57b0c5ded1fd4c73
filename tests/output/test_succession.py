"""From one plan to the next: what goes on, what ends, and numbers where a place changes hands."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from server.output.place import Place
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan
from server.output.shared_map import SharedMap
from server.output.stream import Source, Stream
from server.output.succession import Change, ends, hand_over, successors
from server.output.traces import Traces
from server.wire import e131
from tests.output.ear import CID, DIM

__all__: list[str] = []

TEMPLATE = bytes(e131.data_packet(bytes(16), "Test", 1))


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[SharedMap]:
    path = tmp_path / "output.map"
    SharedMap.create(path)
    made = SharedMap(path)
    for block in range(4):
        made.universes[block] = block + 1
    yield made
    made.close()


def follow(
    shared: SharedMap,
    before: list[Stream],
    *outputs: tuple[Sacn | ArtNet, ...],
    interface: str | None = None,
    now: float = 10.0,
) -> list[Stream]:
    """The streams of a plan whose universes 1, 2 ... have these outputs; all have a picture."""
    plan = Plan(CID, "Test", interface, tuple(UniversePlan(at, to) for at, to in enumerate(outputs, 1)))
    after = successors(before, plan, Source(TEMPLATE, interface), None, shared, now)
    for stream in after:
        if stream.show(DIM):
            stream.pace.changed(now)
    return after


def gone(before: list[Stream], after: list[Stream]) -> list[Place]:
    return [place for ending in ends(Change.between(before, after), 10.0) for place in ending.places]


def test_a_universe_that_the_plan_leaves_as_it_is_stays_the_same_object(shared: SharedMap) -> None:
    before = follow(shared, [], (Sacn("10.0.0.1"),), (Sacn("10.0.0.2"),))
    after = follow(shared, before, (Sacn("10.0.0.1"),), (Sacn("10.0.0.2"), Sacn("10.0.0.3")))
    assert after[0] is before[0]
    assert after[1] is not before[1]
    assert after[1].pace is before[1].pace


def test_only_places_that_nothing_is_sent_to_any_more_are_told(shared: SharedMap) -> None:
    before = follow(shared, [], (Sacn("10.0.0.1"), Sacn(), ArtNet("10.0.0.3")), (Sacn("10.0.0.2"),))
    after = follow(shared, before, (Sacn("10.0.0.2", universe=2),), (Sacn("10.0.0.2", universe=9),))
    assert [place.address[0] for place in gone(before, after)] == ["10.0.0.1", "239.255.0.1"]
    assert {place.number for place in gone(after, [])} == {2, 9}


def test_one_that_is_reached_another_way_is_told_nothing_and_one_group_of_two_is(shared: SharedMap) -> None:
    before = follow(shared, [], (Sacn(), Sacn(interface="10.0.0.9")), interface="10.0.0.7")
    moved = follow(shared, before, (Sacn(), Sacn(interface="10.0.0.9")), interface="10.0.0.8")
    assert gone(before, moved) == []
    fewer = follow(shared, moved, (Sacn(),), interface="10.0.0.8")
    assert [place.by.interface for place in gone(moved, fewer)] == ["10.0.0.9"]


@pytest.mark.parametrize(("before_1", "before_2"), [(100, 95), (95, 100), (5, 250), (250, 5), (0, 128)])
def test_where_a_place_changes_hands_numbers_go_on_and_packets_keep_their_distance(
    shared: SharedMap, before_1: int, before_2: int
) -> None:
    # E1.31-2018, 6.7.2: up to 19 behind is late.
    before = follow(shared, [], (Sacn("10.0.0.1"), ArtNet("10.0.0.3")), (Sacn("10.0.0.2"),))
    for block, number in enumerate((before_1, before_2)):
        shared.sacn_sequences[block] = shared.artnet_sequences[block] = number
        before[block].pace.sent(10.0)
    swapped = (Sacn("10.0.0.2", universe=2),), (Sacn("10.0.0.1", universe=1), ArtNet("10.0.0.3"))
    after = follow(shared, before, *swapped, now=10.001)
    hand_over(Change.between(before, after), [], Traces(shared), 10.001)
    new_1, new_2 = (shared.sacn_sequences[block] + 1 & 255 for block in (0, 1))
    assert not e131.is_late(before_2, new_1)
    assert not e131.is_late(before_1, new_2)
    assert not e131.is_late(before_1, shared.artnet_sequences[1] % 255 + 1)
    assert all(stream.pace.due >= 10.022 for stream in after)


def test_nothing_jumps_where_nothing_changes_hands(shared: SharedMap) -> None:
    before = follow(shared, [], (Sacn("10.0.0.1", universe=5),), (Sacn("10.0.0.2", universe=5),))
    after = follow(shared, before, (Sacn("10.0.0.1", universe=5),), (Sacn("10.0.0.2", universe=5), Sacn()))
    shared.sacn_sequences[0] = 7
    hand_over(Change.between(before, after), [], Traces(shared), 10.001)
    assert list(shared.sacn_sequences[:2]) == [7, 0]
