"""In which order changes are undone, and who may."""

from server.rig.said import Said
from server.stage.near import called
from server.stage.state import Change, State
from server.stage.subject import named
from server.stage.undo import reads

__all__ = ["in_the_way", "not_theirs"]


def not_theirs(state: State, person: str, change: Change) -> Said | None:
    """Why that person may not undo it, or do it again; None when they may: their own, and the lead all."""
    if state.people[person].role == "lead":
        return None
    if change.undone is not None and change.undone.person != person:
        name = called(state, change.undone.person)
        return Said("{name} undid that. Only {name} or the lead can do it again.", name=name)
    if change.undone is None and change.person != person:
        return Said("{name} did that. Only {name} or the lead can undo it.", name=change.name)
    return None


def in_the_way(state: State, change: Change) -> Said | None:
    """What has to be undone before, because it came later and is about the same; None when nothing is."""
    shared = set(change.about)
    if change.before is not None:
        shared |= reads(change.before)
    since = change.undone.number if change.undone else change.number
    for other in reversed(state.changes.values()):
        if other.before is None or other is change:
            continue
        subject = next((each for each in other.about if each in shared), None)
        if subject is None:
            continue
        if other.undone is None and other.number > since:
            what = named(state, subject)
            return Said(
                "{name} changed {subject} after that. Undo that first.", name=other.name, subject=what
            )
        if change.undone is not None and other.undone is not None and other.undone.number > since:
            who, what = called(state, other.undone.person), named(state, subject)
            return Said(
                "{name} undid a change of {subject} after that. Do that again first.", name=who, subject=what
            )
    return None
