"""How fast the fixtures flash that somebody asked to, by their own shutters."""

import math

from server.rig.strobe import flash_rate
from server.stage.state import State

__all__ = ["flashes_of_others", "rate_of"]


def rate_of(state: State, fixture: str) -> float:
    """Flashes a second that a fixture is asked for, in hertz; 0 when it does not flash."""
    mode = state.mode(fixture)
    if mode is None:
        return 0.0
    asked = state.asked(fixture, mode)
    rates = (flash_rate(f, asked[c.key]) for c in mode.controls for f in mode.doing(c, asked))
    return max(rates, default=0.0)


def flashes_of_others(state: State, fixture: str) -> int:
    """Flashes in any one second of all fixtures that flash, but for this one and the one that is lifted."""
    lifted = state.lifted.fixture if state.lifted else None
    others = (each for each in state.flashing if each not in (fixture, lifted))
    return sum(math.ceil(rate_of(state, each)) for each in others)
