"""What becomes of the state when people find something out: a rule for each event, entered in apply.py."""

from server.stage import events_found as events
from server.stage.cases import MOST_CASES
from server.stage.events import Entered
from server.stage.events_seek import SeekEnded, Sought
from server.stage.found import Verdict
from server.stage.state import State

__all__ = [
    "drop_photo",
    "end_seek",
    "enter",
    "judge",
    "keep_photo",
    "set_case",
    "set_round",
    "sought",
    "step_check",
    "stop_check",
]

MOST_ENTRIES = 2000  # of a whole crew on a long day; what is forgotten could only come in twice
MOST_ROUNDS = 30  # one a day for a month; the oldest is forgotten


def keep_photo(event: events.PhotoKept, state: State) -> None:
    """A photo is there."""
    state.photos[event.photo] = event.taken


def drop_photo(event: events.PhotoDropped, state: State) -> None:
    """A photo is gone."""
    state.photos.pop(event.photo, None)


def set_round(event: events.RoundSet, state: State) -> None:
    """A round begins, or has another level."""
    state.rounds[event.round.number] = event.round
    for old in sorted(state.rounds)[:-MOST_ROUNDS]:
        del state.rounds[old]
        state.verdicts.pop(old, None)


def step_check(event: events.CheckStepped, state: State) -> None:
    """Somebody is somewhere else in the rig check."""
    state.checking[event.person] = event.check


def stop_check(event: events.CheckStopped, state: State) -> None:
    """Somebody checks no longer."""
    state.checking.pop(event.who, None)


def judge(event: events.Judged, state: State) -> None:
    """A unit has a verdict. What was carried here is not changed in place.

    One that a phone kept without a link may come after somebody else's younger one, which then stands.
    """
    before = state.verdicts.get(event.round, {})
    if event.round in state.rounds and not _older(event.verdict, before.get(event.fixture)):
        state.verdicts[event.round] = {**before, event.fixture: event.verdict}


def _older(verdict: Verdict, other: Verdict | None) -> bool:
    return other is not None and other.person != verdict.person and verdict.at < other.at


def sought(event: Sought, state: State) -> None:
    """Somebody looks for a light, and has come so far."""
    state.seek = event.seek


def end_seek(event: SeekEnded, state: State) -> None:
    """Nobody looks for one any more."""
    state.seek = None


def enter(event: Entered, state: State) -> None:
    """What a phone had kept is in; it may come once more."""
    state.entries[event.entry] = event.person
    while len(state.entries) > MOST_ENTRIES:
        del state.entries[next(iter(state.entries))]


def set_case(event: events.CaseSet, state: State) -> None:
    """The register knows more. Of more than it holds, the oldest that is over is forgotten."""
    state.cases[event.case.number] = event.case
    while len(state.cases) > MOST_CASES:
        over = (number for number, case in state.cases.items() if case.status == "verified")
        del state.cases[min(over, default=min(state.cases))]
