"""No sequence of commands by crew or house does what must never be, judged on every frame that leaves."""

import os

import numpy as np
import pytest

from server.stage import events
from tests.engine.crowd import Crowd

__all__: list[str] = []

COMMANDS = int(os.environ.get("FOCUSCALL_COMMANDS", "100000"))
SEEDS = range(8)


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_that_must_never_be_leaves_whatever_crew_and_house_ask(seed: int) -> None:
    crowd = Crowd(seed)
    crowd.play(-(-COMMANDS // len(SEEDS)))
    assert crowd.judge.wrong == []
    assert crowd.done > crowd.asked / 5  # most of a crowd that is always refused would prove nothing
    assert crowd.frames > crowd.asked / 10


def test_nor_beside_a_console_that_is_followed_and_whose_light_stands_still() -> None:
    for seed in range(2):
        crowd = Crowd(seed, console=True)
        crowd.play(COMMANDS // 64)
        assert crowd.judge.wrong == []
        assert crowd.done > crowd.asked / 5


@pytest.mark.parametrize(
    "event",
    [
        events.BaselineSet("lead", "one"),
        events.Acted("kit", "fog", "Fog1", "", 255, 5.0),
    ],
)
def test_the_judge_sees_what_is_driven_that_must_not_be(event: events.Event) -> None:
    crowd = Crowd(0)
    crowd.stage.happen([event])
    crowd.engine.took([event])
    crowd.play(0)
    crowd.look()
    assert "was driven to" in crowd.judge.wrong[0]


def slots_of(crowd: Crowd) -> np.ndarray:
    return np.frombuffer(crowd.picture, np.uint8).copy()


def slot(crowd: Crowd, fixture: str, key: str) -> int:
    row = crowd.engine.rig.row[fixture, key]
    return int(crowd.engine.rig.slot_at[crowd.engine.rig.slot_row == row][0])


def test_the_judge_sees_a_strobe_that_is_too_fast() -> None:
    crowd = Crowd(0)
    shutter = next(c for c in crowd.engine.rig.controls if c.key == "Shutter1")
    slots = slots_of(crowd)
    slots[slot(crowd, "head", "Shutter1")] = next(f for f in shutter.functions if f.strobes).last
    crowd.judge.look(slots.tobytes(), crowd.now)
    assert "by strobes" in crowd.judge.wrong[0]


def test_the_judge_sees_a_fourth_flash() -> None:
    crowd = Crowd(0)
    slots = slots_of(crowd)
    for n in range(6):
        slots[0] = 255 * (n % 2)
        crowd.judge.look(slots.tobytes(), crowd.now + n / 20)
    assert "4 flashes" in crowd.judge.wrong[0]


def test_the_judge_sees_a_move_under_somebodys_hands() -> None:
    crowd = Crowd(0)
    crowd.judge.hold([crowd.engine.rig.row["head", "Pan"]])
    slots = slots_of(crowd)
    slots[slot(crowd, "head", "Pan")] ^= 1
    crowd.judge.look(slots.tobytes(), crowd.now)
    assert "under somebody's hands" in crowd.judge.wrong[0]


def test_the_judge_sees_what_is_off_limits() -> None:
    crowd = Crowd(0)
    slots = slots_of(crowd)
    slots[409] = 200
    crowd.judge.look(slots.tobytes(), crowd.now)
    assert crowd.judge.wrong == ["slot 410 was driven to 200"]
