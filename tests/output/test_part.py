"""One universe's part in a pace that several share, by the clock of a test."""

from itertools import pairwise

import pytest

from server.output.pacing import REPEATS, Pace
from server.output.part import Part

__all__: list[str] = []


class Stage:
    """Two universes that share a pace: what left when."""

    def __init__(self, hz: float = 44.0, *, steady: bool = False) -> None:
        self.pace = Pace(steady, hz)
        self.parts = [Part(self.pace, False), Part(self.pace, steady)]
        self.sent: list[list[float]] = [[], []]

    def run(self, until: float) -> None:
        """Send all frames that are due before then, as `Frames` does."""
        while (now := self.pace.due) < until:
            going = [part for part in self.parts if part.goes(now)]
            for part in going:
                part.sent(now)
                self.sent[self.parts.index(part)].append(now)
            self.pace.sent(now)
            self.pace.rest_until(min(part.keep_alive for part in self.parts))


def test_after_a_change_and_its_repeats_a_universe_rests_while_another_moves() -> None:
    stage = Stage()
    for part in stage.parts:
        part.changed(0.0)
    for step in range(200):
        stage.parts[0].changed(step / 44)
        stage.run((step + 1) / 44)
    moved, rested = stage.sent
    assert len(moved) >= 199
    # E1.31-2018, 6.6.2: three packets of what no longer changes, then one each 0.8 to 1.0 s.
    assert [round(at * 44) for at in rested[: 1 + REPEATS]] == [0, 1, 2, 3]
    assert all(0.8 <= after - before <= 1.0 for before, after in pairwise(rested[REPEATS:]))


def test_what_changes_again_is_in_the_next_common_frame() -> None:
    stage = Stage()
    for part in stage.parts:
        part.changed(0.0)
    stage.run(0.5)
    for step in range(20):
        stage.parts[0].changed(0.5 + step / 44)
        stage.run(0.5 + (step + 1) / 44)
    stage.parts[1].changed(0.95)
    stage.run(1.2)
    later = [at for at in stage.sent[1] if at >= 0.95]
    assert len(later) == 1 + REPEATS
    assert later[0] in stage.sent[0]


@pytest.mark.parametrize(("hz", "most_s"), [(44.0, 1.0), (10.0, 1.0), (1.0, 1.01)])
def test_at_rest_all_are_kept_alive_each_in_its_time(hz: float, most_s: float) -> None:
    stage = Stage(hz)
    stage.parts[0].changed(0.0)
    stage.run(0.31)
    stage.parts[1].changed(0.31)
    stage.run(30.0)
    for times in stage.sent:
        kept = times[1 + REPEATS :]
        assert len(kept) >= 20
        assert all(after - before <= most_s for before, after in pairwise(kept))


def test_a_steady_universe_is_in_every_frame() -> None:
    stage = Stage(steady=True)
    for part in stage.parts:
        part.changed(0.0)
    stage.run(5.0)
    assert len(stage.sent[1]) == 220
    assert len(stage.sent[0]) <= 10
