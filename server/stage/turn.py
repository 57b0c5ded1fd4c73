"""Whose turn it is in the focus call: what comes next on the list, and what is on beside it."""

from collections.abc import Iterable, Mapping

from server.rig.light_up import light_up
from server.rig.patch import Fixture
from server.rig.plan import by_hanging
from server.stage.events import BesideSet, Event, NowSet
from server.stage.focus import Focus
from server.stage.near import NEAR_LEVEL, SOFT_S, is_near
from server.stage.state import State

__all__ = ["can_light", "come_up_s", "following", "leave_call", "lit_beside", "mark_of"]

MOST_BESIDE = 24  # a system of one purpose; more at once is a wash that nobody focuses one by one


def mark_of(state: State, fixture: str) -> str:
    """How far that unit is, of focus.MARKS."""
    return state.focus.get(fixture, Focus()).mark


def can_light(state: State, person: str, unit: Fixture) -> bool:
    """Whether light would come from that unit when that person asks for it, whoever has it in hand."""
    free = unit.id not in state.out_of_use and not state.guarded(unit) and state.mode(unit.id) is not None
    mine = not unit.work_light or state.people[person].role == "lead"
    return free and mine and unit.address is not None


def following(state: State, person: str) -> str | None:
    """What that person comes to next: to do, after where they are, then from the top; then to come back to.

    What is given to somebody else, where somebody else is now, or what gives no light is passed over.
    """
    at = state.now.get(person)
    order = list(state.order)
    turned = order.index(at) + 1 if at in state.order else 0
    elsewhere = {f for who, f in state.now.items() if who != person}
    ahead = [
        f
        for f in order[turned:] + order[:turned]
        if f != at and f not in elsewhere and can_light(state, person, state.fixtures[f])
    ]
    ahead = [f for f in ahead if state.focus.get(f, Focus()).given in (None, person)]
    for mark in ("todo", "back"):
        if (found := next((f for f in ahead if mark_of(state, f) == mark), None)) is not None:
            return found
    return None


def come_up_s(state: State) -> float:
    """Seconds in which the next one comes up: never a snap at somebody."""
    return max(state.settings.light_up_s, SOFT_S)


def lit_beside(state: State, person: str, now: Mapping[str, str], wait_s: float) -> list[Event]:
    """What makes those be on that belong beside the units people are at. now: by person, as it will be.

    Nobody holds them, and what somebody holds is left as it is.
    """
    wanted: dict[str, dict[str, int]] = {}
    held = {*state.holders, *now.values()}
    for fixture in _neighbours(state, set(now.values())):
        mode, unit = state.mode(fixture), state.fixtures[fixture]
        if mode is None or fixture in held or unit.work_light or not can_light(state, person, unit):
            continue
        level = state.call.beside_level
        values = light_up(mode, min(level, NEAR_LEVEL) if is_near(state, unit) else level, as_it_hangs=True)
        wanted[fixture] = values
    changed: dict[str, dict[str, int] | None] = {
        f: values for f, values in wanted.items() if state.beside.get(f) != values
    }
    # In a hand it would show through where that hand has set nothing: it goes once it is let go of.
    others = {f for f, who in state.holders.items() if now.get(who) != f}
    changed |= {f: None for f in state.beside if f not in wanted and f not in others}
    return [BesideSet(person, changed, come_up_s(state), state.call.fade_s, wait_s)] if changed else []


def _neighbours(state: State, at: Iterable[str]) -> list[str]:
    found: dict[str, None] = {}
    hanging = [f.id for f in by_hanging(state.fixtures.values())] if state.call.beside else []
    for fixture in at:
        unit = state.fixtures[fixture]
        if state.call.beside == "position":
            line = [f for f in hanging if state.fixtures[f].position == unit.position]
            place = line.index(fixture)
            found |= dict.fromkeys((*line[max(0, place - 1) : place], *line[place + 1 : place + 2]))
        elif state.call.beside == "purpose" and unit.purpose:
            same = [f for f in hanging if state.fixtures[f].purpose.casefold() == unit.purpose.casefold()]
            found |= dict.fromkeys([f for f in same if f != fixture][:MOST_BESIDE])
    return list(found)


def leave_call(state: State, person: str, who: str) -> list[Event]:
    """What it takes that `who` is at no unit any more."""
    if who not in state.now:
        return []
    now = {p: f for p, f in state.now.items() if p != who}
    return [NowSet(person, who, None), *lit_beside(state, person, now, 0.0)]
