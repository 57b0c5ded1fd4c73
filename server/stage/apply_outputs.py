"""What becomes of the state where universes go elsewhere: entered in apply.py."""

from server.stage import events
from server.stage.events import Event
from server.stage.state import State

__all__ = ["reroutes", "set_route", "set_sync"]


def reroutes(event: Event) -> bool:
    """Whether levels leave another way after it."""
    if isinstance(event, events.PutBack):
        return bool(event.before.routes) or event.before.sync is not None
    return isinstance(event, events.RouteSet | events.SyncSet)


def set_route(event: events.RouteSet, state: State) -> None:
    """The lead has decided."""
    if event.route is None:
        state.routes.pop(event.universe, None)
    else:
        state.routes[event.universe] = event.route


def set_sync(event: events.SyncSet, state: State) -> None:
    """For the whole show."""
    state.sync = event.sync
