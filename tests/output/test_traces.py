"""What receivers still know of a place that changes hands."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from server.output.plan import ArtNet, Sacn, UniversePlan
from server.output.shared_map import SharedMap
from server.output.stream import Source, Stream
from server.output.traces import Traces
from server.wire import e131
from tests.output.ear import DIM

__all__: list[str] = []

SOURCE = Source(bytes(e131.data_packet(bytes(16), "Test", 1)), None)
HERE = (Sacn("10.0.0.1", universe=1), ArtNet("10.0.0.3"))


@pytest.fixture
def shared(tmp_path: Path) -> Iterator[SharedMap]:
    SharedMap.create(tmp_path / "map")
    made = SharedMap(tmp_path / "map")
    yield made
    made.close()


def stream(block: int) -> Stream:
    made = Stream(UniversePlan(block + 1, HERE), SOURCE, block)
    made.show(DIM)
    return made


def left(shared: SharedMap, traces: Traces, block: int, number: int, now: float) -> None:
    shared.sacn_sequences[block] = shared.artnet_sequences[block] = number
    traces.leave(stream(block).places, block, now, now)


def test_numbers_of_all_who_were_there_of_late_are_passed_by(shared: SharedMap) -> None:
    # E1.31-2018, 6.7.2: d from -19 to 0 is late. Past 40 is still behind 55, so it is 56 that comes next.
    traces = Traces(shared)
    left(shared, traces, 0, 40, 1.0)
    left(shared, traces, 1, 55, 1.0)
    shared.sacn_sequences[2] = shared.artnet_sequences[2] = 30
    traces.take(stream(2))
    assert (shared.sacn_sequences[2], shared.artnet_sequences[2]) == (55, 55)


def test_a_universe_without_a_picture_between_two_others_hides_nothing(shared: SharedMap) -> None:
    traces = Traces(shared)
    left(shared, traces, 0, 40, 1.0)
    traces.take(stream(1))  # which then sends nothing
    traces.forget(1.2)
    shared.sacn_sequences[2] = 20
    traces.take(stream(2))
    assert shared.sacn_sequences[2] == 40


def test_after_2_5_s_nothing_is_known_any_more(shared: SharedMap) -> None:
    # E1.31-2018, 6.7.1.
    traces = Traces(shared)
    left(shared, traces, 0, 40, 1.0)
    traces.forget(3.6)
    shared.sacn_sequences[2] = 30
    traces.take(stream(2))
    assert shared.sacn_sequences[2] == 30


def test_a_number_far_behind_is_passed_by_too_for_others_may_be_sent_before_it(shared: SharedMap) -> None:
    traces = Traces(shared)
    left(shared, traces, 0, 22, 1.0)
    shared.sacn_sequences[1] = 0  # 1 would be accepted as of a source that began again, and 3 would not
    traces.take(stream(1))
    assert shared.sacn_sequences[1] == 22


def test_a_frame_waits_and_what_one_left_itself_moves_nothing(shared: SharedMap) -> None:
    traces = Traces(shared)
    left(shared, traces, 0, 40, 1.0)
    back, other = stream(0), stream(1)
    for each in (back, other):
        each.pace.changed(1.001)
        traces.take(each)
    assert back.pace.due == 1.001
    assert other.pace.due > 1.022
    assert shared.sacn_sequences[0] == 40
