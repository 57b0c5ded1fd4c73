"""Who writes need not wake a process that looks by itself in time, and no picture ever waits for that."""

import random
from pathlib import Path

import pytest

from server.output import frames, link, process
from server.output.link import Output
from server.output.lock import FileLock
from server.output.looking import Looking
from server.output.pacing import FRAME_S
from server.output.plan import Plan, UniversePlan, to_json
from server.output.process import OutputProcess
from server.output.shared_map import SharedMap
from server.output.stream import Source, Stream
from tests.output.ear import CID

__all__: list[str] = []

UNIVERSES = (1, 2, 3)
SLOWEST_S = 0.003  # that this process or the web side is held up by others, here
HELD_UP_S = 5 * SLOWEST_S


class World:
    """A process and a web side on one clock that only goes on where either asks what time it is.

    Whenever the process asks, the web side may have done in between whatever it was about to do.
    """

    def __init__(self, folder: Path, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
        self.chance = random.Random(seed)
        self.now = 1000.0
        self.acting = self.woken = False
        self.wakes = self.writes = 0
        self.next_write = 1001.0
        # By block: the version that was written, when, and when it should have left at the latest.
        self.waiting: dict[int, tuple[int, float, float]] = {}
        for module in (process, frames, link):
            monkeypatch.setattr(module, "monotonic", self.time)
        SharedMap.create(folder / "output.map")
        self.shared = SharedMap(folder / "output.map")
        for block, universe in enumerate(UNIVERSES):
            self.shared.universes[block] = universe
        # A universe that never rests has the process look each frame, which would hide what is missed.
        planned = tuple(UniversePlan(universe, (), steady=seed == 0) for universe in UNIVERSES)
        self.shared.publish_plan(to_json(Plan(CID, "Test", None, planned)))
        self.output = Output(folder, FileLock(folder / "lock"), self.shared, taken_over=False)
        self.output._blocks = {universe: block for block, universe in enumerate(UNIVERSES)}
        monkeypatch.setattr(self.output, "_wake", self.wake)
        self.process = OutputProcess(folder / "output.map")

    def time(self) -> float:
        """The clock of both; the web side writes when its time has come."""
        if not self.acting:
            self.now += self.chance.choice((1e-6, 1e-5, 5e-5, self.chance.random() * SLOWEST_S))
            self.act()
        return self.now

    def act(self) -> None:
        """What the web side does until now."""
        while self.now >= self.next_write:
            self.acting = True
            for universe in self.chance.sample(UNIVERSES, self.chance.choice((1, 1, 2, 3))):
                self.output.write(universe, bytes([self.writes % 251]) * 512)
                self.writes += 1
                self.await_it(universe - 1)
            self.output.wake()
            self.acting = False
            # In a drag, at the end of a motion (three repeats later), and long after it.
            frames_on = self.chance.choice((0.02, 0.05, 0.9, 1, 1, 1, 2, 3, 4, 5, 20))
            self.next_write += max(1e-5, frames_on * FRAME_S + self.chance.gauss(0, 0.001))

    def await_it(self, block: int) -> None:
        """At rest it leaves at once, in motion with the next packet, or the one after it."""
        pace = self.process._frames.streams[block].pace
        last = pace.due + FRAME_S if pace.moves else pace.last + pace.closest_s
        latest = max(self.now, last) + HELD_UP_S
        self.waiting.setdefault(block, (self.shared.versions[block], self.now, latest))

    def wake(self) -> None:
        """Stands for the datagram."""
        self.woken = True
        self.wakes += 1

    def turn(self) -> None:
        """One turn of the process, and its wait."""
        until = self.process._turn()
        assert until is not None
        for stream in self.process._frames.streams:
            if stream.block not in self.waiting:
                continue
            version, written, latest = self.waiting[stream.block]
            left = stream.version >= version and stream.pace.last >= written
            assert (stream.pace.last if left else self.now) <= latest, "a picture was missed"
            if left:
                del self.waiting[stream.block]
        while not self.woken and self.now < until:
            self.now = min(until, max(self.now, self.next_write))
            self.act()
        self.woken = False

    def close(self) -> None:
        """Let go of sockets and memory."""
        self.process._sender.close()
        self.process._wake.close()
        self.process._map.close()
        self.output._close()


@pytest.mark.parametrize("seed", range(6))
def test_no_picture_waits_longer_than_a_frame_and_most_wake_nobody(
    tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    world = World(tmp_path, seed, monkeypatch)
    while world.writes < 1500:
        world.turn()
    assert world.wakes < 0.6 * world.writes
    world.close()


def test_a_look_that_takes_its_time_begins_as_much_earlier_and_only_once(tmp_path: Path) -> None:
    looking = Looking(_map(tmp_path))
    looking.took(5.0, 5.0005)
    looking.settle()
    assert looking.next(due=6.0, looked=5.1) == pytest.approx(5.9995)
    assert looking.next(due=6.0, looked=5.9996) == 6.0, "it has looked already"
    looking.took(5.0, 5.5)
    looking.settle()
    assert looking.next(due=6.0, looked=5.1) == pytest.approx(5.998), "it stood still: that is no measure"
    looking.settle()
    assert looking.next(due=6.0, looked=5.1) == 6.0


def test_who_trusted_a_promise_is_looked_for_even_if_the_packet_left_after_an_earlier_look(
    tmp_path: Path,
) -> None:
    looking = Looking(_map(tmp_path))
    stream = Stream(UniversePlan(1, ()), Source(bytes(638), None), 0)
    stream.pace.changed(5.0)
    stream.pace.sent(5.0)
    looking.promise([stream])
    promised = stream.pace.due
    while stream.pace.moves:
        stream.pace.sent(stream.pace.due)  # in a turn that began to look before what was promised
    looking.promise([stream])
    assert looking.next(stream.pace.due, looked=promised - 0.001) == promised
    assert looking.next(stream.pace.due, looked=promised) == stream.pace.due


def test_of_a_slow_stream_nothing_is_promised(tmp_path: Path) -> None:
    shared = _map(tmp_path)
    looking = Looking(shared)
    stream = Stream(UniversePlan(1, ()), Source(bytes(638), None), 0, 10.0)
    stream.pace.changed(5.0)
    stream.pace.sent(5.0)
    looking.promise([stream])
    assert shared.looks[0] == 0.0


def test_what_a_process_before_this_one_promised_holds_no_more(tmp_path: Path) -> None:
    shared = _map(tmp_path)
    shared.looks[1023] = 7.0
    Looking(shared)
    assert not any(shared.looks)


def _map(folder: Path) -> SharedMap:
    SharedMap.create(folder / "output.map")
    return SharedMap(folder / "output.map")
