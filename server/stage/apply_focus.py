"""What becomes of the state in the focus call: a rule for each event, entered in apply.py."""

from dataclasses import replace

from server.stage import events_focus as events
from server.stage import events_shout as shouts
from server.stage.state import State

__all__ = ["change_call", "keep_shout", "see_shout", "set_beside", "set_focus", "set_now", "shouts_over"]


def set_focus(event: events.FocusSet, state: State) -> None:
    """How far a unit is."""
    if event.focus is None:
        state.focus.pop(event.fixture, None)
    else:
        state.focus[event.fixture] = event.focus


def set_now(event: events.NowSet, state: State) -> None:
    """Somebody is at another unit, or at none."""
    if event.fixture is None:
        state.now.pop(event.who, None)
    else:
        state.now[event.who] = event.fixture


def set_beside(event: events.BesideSet, state: State) -> None:
    """Units are on beside the focused ones, or are not any more."""
    for fixture, values in event.values.items():
        if values is None:
            state.beside.pop(fixture, None)
        else:
            state.beside[fixture] = values


def change_call(event: events.CallChanged, state: State) -> None:
    """The lead has set how the call goes."""
    state.call = event.call


def keep_shout(event: shouts.Shouted, state: State) -> None:
    """Somebody called."""
    state.shouts[event.shout.number] = event.shout


def see_shout(event: shouts.ShoutSeen, state: State) -> None:
    """Somebody has seen it."""
    shout = state.shouts.get(event.number)
    if shout is not None:
        state.shouts[event.number] = replace(shout, seen=(*shout.seen, event.person))


def shouts_over(event: shouts.ShoutsOver, state: State) -> None:
    """Nobody waits for them any more."""
    for number in event.numbers:
        state.shouts.pop(number, None)
