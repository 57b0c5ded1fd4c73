"""Any edits of a plan at any moment: what receivers may rely on, on packets that arrive, by our own clock."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from server.output import frames
from server.output.frames import Frames
from server.output.plan import Plan, Sacn, UniversePlan
from server.output.sender import Sender
from server.output.shared_map import SharedMap
from server.wire import e131
from tests.output.ear import CID, Ear

__all__: list[str] = []

UNIVERSES = 3
PORTS = (0, 1)  # of the two ears

# Universes, each with its outputs, steady and per_slot; and the address of synchronisation.
Edit = tuple[list[tuple[list[tuple[int, int | None, float, str | None]], bool, bool]], int]
# What one universe goes to: ear, number on the wire, most_hz, by the interface of loopback.
OUTPUT = st.tuples(
    st.sampled_from(PORTS),
    st.sampled_from([None, 1, 2, 7962]),
    st.sampled_from([44.0, 30.0]),
    st.sampled_from([None, "127.0.0.1"]),
)
UNIVERSE = st.tuples(st.lists(OUTPUT, max_size=2), st.booleans(), st.booleans())
EDIT = st.tuples(st.lists(UNIVERSE, min_size=UNIVERSES, max_size=UNIVERSES), st.sampled_from([0, 0, 500]))
PAUSE = st.floats(0, 0.3)


@dataclass
class Heard:
    """All that came to one ear for one number on the wire: when, and what."""

    packets: list[tuple[float, e131.Data]] = field(default_factory=list)


class Stage:
    """Frames on real sockets, and a clock that only this moves."""

    def __init__(self, folder: Path, ears: tuple[Ear, Ear]) -> None:
        SharedMap.create(folder / "map")
        self.map = SharedMap(folder / "map")
        for block in range(UNIVERSES):
            self.map.universes[block] = block + 1
        self.sender = Sender()
        self.frames = Frames(self.map, self.sender)
        self.ears = ears
        self.now = 1000.0
        self.heard: dict[tuple[int, int], Heard] = {}
        self.syncs: list[int] = []
        self.level = 0

    def edit(self, edit: Edit) -> bool:
        """Follow this plan, if it is one."""
        universes, sync = edit
        try:
            planned = tuple(
                UniversePlan(
                    at,
                    tuple(
                        Sacn(
                            "127.0.0.1", self.ears[ear].port, universe=number, most_hz=hz, interface=interface
                        )
                        for ear, number, hz, interface in outputs
                    ),
                    steady,
                    per_slot=per_slot,
                )
                for at, (outputs, steady, per_slot) in enumerate(universes, 1)
            )
            plan = Plan(CID, "Test", None, planned, sync=sync)
        except ValueError:
            return False
        self.frames.follow(plan, self.now)
        return True

    def show(self) -> None:
        """Another picture for each universe."""
        self.level = self.level % 255 + 1
        for stream in self.frames.streams:
            stream.show(bytes([self.level]) * 512)
            stream.pace.changed(self.now)
        self.frames.announcer.look(self.frames.streams, self.now)

    def run(self, seconds: float) -> None:
        """Send all that is due, each at its time."""
        until = self.now + seconds
        while (due := self.frames.send()) <= until:
            self.listen()
            self.now = max(self.now, due)
        self.listen()
        self.now = until

    def listen(self) -> None:
        for number, ear in enumerate(self.ears):
            ear.heard.clear()
            ear.until_nothing()
            for octets in ear.heard:
                packet = e131.decode(octets)
                if isinstance(packet, e131.Data):
                    heard = self.heard.setdefault((number, packet.universe), Heard())
                    heard.packets.append((self.now, packet))
                elif isinstance(packet, e131.Sync) and number == 0:
                    self.syncs.append(packet.sequence)


@contextmanager
def stage(ears: tuple[Ear, Ear]) -> Iterator[Stage]:
    with TemporaryDirectory() as folder:
        made = Stage(Path(folder), ears)
        # The clock is handed in: what is due a second later is sent now.
        try:
            with patch.object(frames, "monotonic", lambda: made.now):
                yield made
        finally:
            made.sender.close()
            made.map.close()


@pytest.fixture(scope="module")
def ears() -> Iterator[tuple[Ear, Ear]]:
    made = Ear(), Ear()
    yield made
    for ear in made:
        ear.close()


@settings(max_examples=80, phases=[Phase.generate])  # making one smaller takes minutes
@given(st.lists(st.tuples(EDIT, PAUSE, st.booleans()), min_size=2, max_size=8))
def test_whatever_is_edited_no_receiver_gets_packets_too_close_or_numbers_that_look_late(
    ears: tuple[Ear, Ear],
    edits: list[tuple[Edit, float, bool]],
) -> None:
    with stage(ears) as made:
        for edit, pause, moves in edits:
            made.edit(edit)
            if moves:
                made.show()
            made.run(pause)
        made.frames.end(made.now)
        made.run(1.0)
        assert not made.frames.endings
        for heard in made.heard.values():
            judge(heard)
        assert not any(e131.is_late(before, after) for before, after in pairwise(made.syncs))


def judge(heard: Heard) -> None:
    """What E1.31-2018 promises a receiver: 6.6.1 (rate), 6.7.2 (numbers), 6.2.6 (the end)."""
    for (at, before), (then, after) in pairwise(heard.packets):
        assert not e131.is_late(before.sequence, after.sequence) or before.terminated
        if after.start_code == before.start_code == 0:
            assert then - at >= 0.022 or before.terminated
        if after.start_code:
            assert (after.sequence - before.sequence) % 256 == 1
            assert then == at
    levels = [packet for _, packet in heard.packets if not packet.start_code]
    assert all(packet.terminated for packet in levels[-3:]), "and at the end three say so"
    assert all(packet.sync_address == 0 for packet in levels if packet.terminated)
