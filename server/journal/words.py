"""Events and state as JSON text, and back."""

from functools import cache

from pydantic import TypeAdapter

from server.stage.events import EVENTS, Event
from server.stage.state import State

__all__ = ["event_from_text", "event_to_text", "state_from_text", "state_to_text"]


@cache
def _adapter(kind: str) -> TypeAdapter[Event]:
    return TypeAdapter(EVENTS[kind])


@cache
def _state() -> TypeAdapter[State]:
    return TypeAdapter(State)


def event_to_text(event: Event) -> tuple[str, bytes]:
    """Kind and JSON body of an event."""
    kind = type(event).__name__
    return kind, _adapter(kind).dump_json(event)


def event_from_text(kind: str, body: bytes) -> Event:
    """The event again. Raises KeyError or ValueError: not one of ours."""
    return _adapter(kind).validate_json(body)


def state_to_text(state: State) -> bytes:
    """The whole state as JSON."""
    return _state().dump_json(state)


def state_from_text(body: bytes) -> State:
    """The state again. Raises ValueError: not one of ours."""
    return _state().validate_json(body)
