"""What the slots of a unit that is being taught carry, and who is told that they are taken."""

from collections.abc import Mapping
from dataclasses import replace

from server.rig.said import Said
from server.stage.events import Event, SlotSet, TeachingSet
from server.stage.holds import Refused
from server.stage.near import called
from server.stage.state import State
from server.stage.teaching import Teaching

__all__ = ["all_at_zero", "levels_of", "taught_by"]


def all_at_zero(state: State, person: str, by: str | None = None) -> list[Event]:
    """Its slots at 0, nothing held. by: who teaches from now on."""
    teaching = state.teaching
    if teaching is None:
        return []
    ended = replace(teaching, look=-1, person=by or teaching.person)
    return [*levels_of(state, teaching, {}), TeachingSet(person, ended)]


def levels_of(state: State, teaching: Teaching, levels: Mapping[int, int]) -> list[Event]:
    """Those of its slots that are not at these levels, by slot of the unit; what is not named goes to 0."""
    there = state.slots.get(teaching.universe, {})
    spans = [span for _, _, span in state.spans(teaching.universe)]
    happened: list[Event] = []
    for slot in range(1, teaching.slots + 1):
        at, raw = teaching.first + slot - 1, levels.get(slot, 0)
        owned = any(span.holds(at) for span in spans)
        if (at not in there or there[at].raw != raw) and not owned:
            happened.append(SlotSet(teaching.person, teaching.universe, at, raw))
    return happened


def taught_by(state: State, teaching: Teaching) -> Refused:
    """The refusal that says who teaches them."""
    return Refused(
        Said(
            "{name} teaches universe {universe}, slots {first} to {last}.",
            name=called(state, teaching.person),
            universe=teaching.universe,
            first=teaching.first,
            last=teaching.last,
        )
    )
