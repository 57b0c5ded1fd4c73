"""What becomes of the state where universes are shared with a console: entered in apply.py."""

from server.stage import events_shared as events
from server.stage.state import State

__all__ = ["lift_looks", "share_universe"]


def share_universe(event: events.UniverseShared, state: State) -> None:
    """The lead has decided."""
    if event.shared is None:
        state.shared.pop(event.universe, None)
    else:
        state.shared[event.universe] = event.shared


def lift_looks(event: events.LooksLifted, state: State) -> None:
    """What looks held there goes to what lies beneath."""
    for fixture in event.fixtures:
        state.recalled.pop(fixture, None)
