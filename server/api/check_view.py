"""A rig check as phones see it: how far it is, who is where, and what each round brought."""

from collections.abc import Mapping
from typing import Any

from server.stage.check import checkable, in_scope, left_s
from server.stage.decide_check import strides_of
from server.stage.found import Checking, Verdict
from server.stage.state import State

__all__ = ["check_view", "checked", "round_view", "verdict_view"]


def checked(state: State, fixture: str) -> str | None:
    """What the round that goes on says of a fixture: "works", "fault", or nothing yet."""
    verdict = state.judged.get(fixture)
    return None if verdict is None else "works" if verdict.works else "fault"


def check_view(state: State) -> dict[str, Any]:
    """The round that goes on, and where everybody is in it.

    of: units that it goes through; left_s: seconds at the pace so far, where that is known.
    """
    units = [unit.id for unit in state.fixtures.values() if _in_it(state, unit.id)]
    seen = [state.judged[fixture] for fixture in units if fixture in state.judged]
    left = left_s(state, units)
    return {
        "round": round_view(state, state.round.number) if state.round else None,
        "works": sum(verdict.works for verdict in seen),
        "faults": sum(not verdict.works for verdict in seen),
        "of": len(units),
        "left_s": None if left is None else round(left),
        "people": {person: _where(state, person, check) for person, check in state.checking.items()},
    }


def _in_it(state: State, fixture: str) -> bool:
    unit = state.fixtures[fixture]
    everybody = any(checkable(state, person, unit) for person in _one_of_each_role(state))
    return everybody or fixture in state.judged


def _one_of_each_role(state: State) -> list[str]:
    return list({person.role: person.id for person in state.people.values()}.values())


def round_view(state: State, number: int) -> dict[str, Any]:
    """When a round began, by whom, at what level, and how many it has seen."""
    this, seen = state.rounds[number], state.verdicts.get(number, {}).values()
    works = sum(verdict.works for verdict in seen)
    about = {"number": number, "at": this.at, "by": this.name, "level": this.level}
    return {**about, "works": works, "faults": len(seen) - works}


def _where(state: State, person: str, check: Checking) -> dict[str, Any]:
    units = in_scope(state, person, check)
    strides = strides_of(state, check)
    stride = None if check.stride is None or check.stride >= len(strides) else strides[check.stride]
    walk = {"of": len(strides), "at": check.stride, "what": stride.what if stride else ""}
    done = sum(fixture in state.judged for fixture in units)
    scope = {"order": check.order, "where": check.where, "unproved": check.unproved}
    at = units.index(check.fixture) + 1 if check.fixture in units else 0
    progress = {"at": at, "done": done, "of": len(units), "ended": check.ended}
    return {"fixture": check.fixture, **scope, **progress, "skipped": list(check.skipped), "walk": walk}


def verdict_view(fixture: str, verdict: Verdict) -> Mapping[str, Any]:
    """One verdict, as the round's list has it."""
    names = ("channel", "position", "unit", "at", "level", "reason", "note", "photo")
    return {
        "fixture": fixture,
        "works": verdict.works,
        "by": verdict.name,
        **{name: getattr(verdict, name) for name in names},
    }
