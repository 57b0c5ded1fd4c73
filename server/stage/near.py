"""People at height or with their hands on a unit, and what that means for driving it."""

from collections.abc import Iterable, Mapping

from server.rig.patch import Fixture
from server.rig.profile import Mode
from server.rig.said import Said
from server.stage.events import Event, StillSet
from server.stage.state import State

__all__ = ["NEAR_LEVEL", "SLOW_S", "SOFT_S", "called", "freezing", "is_near", "names", "rises", "stay_still"]

SLOW_S = 3.0  # how long the first move takes beside somebody aloft: long enough to draw a hand back
SOFT_S = 0.5  # how long light takes to come up in front of somebody: never a snap into their eyes
NEAR_LEVEL = 0.5  # what lighting up goes to in front of somebody, whose eyes may be at the lens
SOFT_ABOVE = 0.1  # a rise by more than this share of full; a thumb that drags makes smaller ones


def called(state: State, person: str) -> str:
    """What that person is called."""
    return state.people[person].name if person in state.people else Said("Somebody who has left")


def names(state: State, people: Iterable[str]) -> str:
    """What those people are called, in one line."""
    return ", ".join(called(state, person) for person in people)


def freezing(mode: Mode, values: Mapping[str, int]) -> dict[str, int]:
    """Those of these raw values by control key that move or reset the unit, or strike or douse its lamp."""
    keys = (c.key for c in mode.controls if c.moves or any(f.action for f in c.functions))
    return {key: values[key] for key in keys if key in values}


def is_near(state: State, unit: Fixture) -> bool:
    """Whether somebody touches that unit, or works at height where it hangs."""
    return unit.id in state.hands_on or bool(state.aloft_at(unit.position))


def stay_still(state: State, person: str, fixture: str, leaving: Mapping[str, int]) -> list[Event]:
    """What lets a unit stay where it points, when it is not held there already.

    leaving: raw values that leave at this moment, by control key; what is missing is taken as asked.
    """
    mode = state.mode(fixture)
    if mode is None or fixture in state.still:
        return []
    frozen = freezing(mode, {**state.asked(fixture, mode), **leaving})
    return [StillSet(person, fixture, frozen)] if frozen else []


def rises(mode: Mode, before: Mapping[str, int], raws: Mapping[str, int]) -> bool:
    """Whether these raw values bring an intensity up by more than a tenth of full."""
    levels = [c for c in mode.controls if c.mastered and c.key in raws]
    return any((raws[c.key] - before[c.key]) / c.maximum > SOFT_ABOVE for c in levels)
