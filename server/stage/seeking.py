"""Halving a rig until one light is left: which fixtures are still in question, and which half breathes."""

from collections.abc import Iterable, Sequence

from server.rig.profile import Mode
from server.stage.state import State

__all__ = ["gives_light", "half", "most_answers", "still_breathing", "still_left"]


def most_answers(left: int) -> int:
    """How many yes and no it takes at the most: 8 for 200."""
    return max(left - 1, 0).bit_length()


def half(left: Sequence[str]) -> tuple[str, ...]:
    """Those that breathe next: the larger half, in the order in which they hang, so that neighbours agree."""
    return tuple(left[: (len(left) + 1) // 2])


def still_left(state: State) -> tuple[str, ...]:
    """Those it may still be: not taken out of the rig nor, while they breathe, out of the seeker's hand."""
    seek = state.seek
    if seek is None:
        return ()
    breathing, there = set(seek.breathing), set(still_breathing(state))
    return tuple(f for f in seek.left if f in state.fixtures and (f in there or f not in breathing))


def still_breathing(state: State) -> tuple[str, ...]:
    """Those whose light rises and falls: somebody else may have taken one, or the lead let go of it."""
    seek = state.seek
    return _held(state, seek.person, seek.breathing) if seek else ()


def _held(state: State, person: str, fixtures: Iterable[str]) -> tuple[str, ...]:
    return tuple(f for f in fixtures if state.holders.get(f) == person)


def gives_light(mode: Mode) -> bool:
    """Whether the unit has an intensity that the rig master scales: a relay or a scroller has none."""
    return any(control.mastered for control in mode.controls)
