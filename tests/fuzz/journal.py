"""Rows of a show file, an event or a whole state: one of ours that comes back as it was, or refused."""

from server.journal.words import event_from_text, event_to_text, state_from_text, state_to_text
from server.stage.apply import apply
from server.stage.state import State
from tests.journal.test_words import DAY

__all__ = ["SEEDS", "one"]


def _state() -> State:
    state = State()
    for event in DAY:
        apply(state, event)
    return state


_PAIRS = [event_to_text(event) for event in DAY]
SEEDS = (*(kind.encode() + b"\n" + body for kind, body in _PAIRS), b"\n" + state_to_text(_state()))


def one(data: bytes) -> None:
    """KeyError and ValueError are what is documented."""
    kind, _, body = data.partition(b"\n")
    try:
        read = event_from_text(kind.decode("utf-8", "replace"), body) if kind else state_from_text(body)
    except (KeyError, ValueError):
        return
    if isinstance(read, State):
        assert state_from_text(state_to_text(read)) == read
    else:
        assert event_from_text(*event_to_text(read)) == read
