"""How fast the fixtures flash that somebody asked to, by their own shutters."""

import math

from server.rig.strobe import flash_rate
from server.stage.state import State

__all__ = ["flashes_of_others", "rate_of"]


def rate_of(state: State, fixture: str) -> float:
    """Flashes a second that a fixture is asked for, in hertz; 0 when it does not flash.

    What a console that is followed makes it do by itself is its own.
    """
    mode = state.mode(fixture)
    if mode is None:
        return 0.0
    asked, theirs = state.asked(fixture, mode), state.console.values(fixture).keys() - state.ours(fixture)
    rates = (
        flash_rate(f, asked[c.key])
        for c in mode.controls
        for f in mode.doing(c, asked)
        if c.key not in theirs or (f.mode_master and f.mode_master.control not in theirs)
    )
    return max(rates, default=0.0)


def flashes_of_others(state: State, fixture: str) -> int:
    """Flashes in any one second of all fixtures that flash, but for this one and the one that is lifted."""
    lifted = state.lifted.fixture if state.lifted else None
    others = (each for each in state.flashing if each not in (fixture, lifted))
    return sum(math.ceil(rate_of(state, each)) for each in others)
