"""The laptop's clock is set while something counts by it: that moves along, or ends."""

from dataclasses import replace

from server.stage.events_clock import ClockSet
from server.stage.state import State

__all__ = ["set_clock"]

OVERTAKEN_S = 5.0  # a call of dark that the clock has passed by more is not what anybody agreed to


def set_clock(event: ClockSet, state: State) -> None:
    """Keep every time at its distance from now.

    Set on, that is so only for what somebody waits for. What somebody may do for a while ends sooner then:
    the laptop may have slept, and that time has passed. So nothing is allowed for longer than was said, and
    nothing that has to cool or to be counted down comes sooner.
    """
    by = event.by_s
    state.acted = {f: {kind: at + by for kind, at in kinds.items()} for f, kinds in state.acted.items()}
    state.gone = {person: at + by for person, at in state.gone.items()}
    state.shouts = {n: replace(shout, at=shout.at + by) for n, shout in state.shouts.items()}
    if state.dark is not None:
        state.dark = None if by > OVERTAKEN_S else replace(state.dark, at=state.dark.at + by)
    if by < 0:
        _move_what_is_allowed(state, by)


def _move_what_is_allowed(state: State, by: float) -> None:
    state.armed = {
        fixture: replace(armed, since=armed.since + by, until=armed.until + by)
        for fixture, armed in state.armed.items()
    }
    state.runs = {
        fixture: replace(run, since=run.since + by, until=run.until + by)
        for fixture, run in state.runs.items()
    }
    if (lifted := state.lifted) is not None:
        state.lifted = replace(lifted, since=lifted.since + by, until=lifted.until + by)
    if (held := state.teaching) is not None:
        state.teaching = replace(
            held, since=held.since + by, changed=held.changed + by, until=held.until + by
        )
