"""What becomes of the state when people find something out: a rule for each event, entered in apply.py."""

from server.stage import events_found as events
from server.stage.state import State

__all__ = ["drop_photo", "keep_photo"]


def keep_photo(event: events.PhotoKept, state: State) -> None:
    """A photo is there."""
    state.photos[event.photo] = event.taken


def drop_photo(event: events.PhotoDropped, state: State) -> None:
    """A photo is gone."""
    state.photos.pop(event.photo, None)
