"""The register of faults: which case a unit has now, what it had before, and what goes with the venue."""

from collections.abc import Mapping
from dataclasses import replace

from server.rig.patch import Fixture
from server.stage.found import Case, FaultStep
from server.stage.state import State

__all__ = ["MOST_CASES", "STEPS", "case_of", "cases_of", "merged", "with_step"]

STEPS = ("opened", "said", "fixed", "verified", "reopened")
MOST_CASES = 2000  # years of a house; the oldest that is over is forgotten first
MOST_STEPS = 50  # of one case: its beginning and the newest


def case_of(state: State, fixture: str) -> Case | None:
    """The newest case of a unit, while it is not over."""
    theirs = [case for case in state.cases.values() if case.fixture == fixture]
    newest = max(theirs, key=lambda case: case.number, default=None)
    return newest if newest is not None and newest.status != "verified" else None


def cases_of(state: State, unit: Fixture) -> list[Case]:
    """All cases of a unit, newest first: by its identity, and in other shows of the venue by its place."""
    place = (unit.position, unit.unit)

    def same(case: Case) -> bool:
        return case.fixture == unit.id or (bool(unit.unit) and (case.position, case.unit) == place)

    return sorted(filter(same, state.cases.values()), key=lambda case: -case.number)


def with_step(case: Case, step: FaultStep) -> Case:
    """The case with one thing more that became of it."""
    steps = (*case.steps, step)
    return replace(case, steps=steps if len(steps) <= MOST_STEPS else (steps[0], *steps[-MOST_STEPS + 1 :]))


def merged(here: Mapping[int, Case], brought: Mapping[int, Case]) -> dict[int, Case]:
    """The cases of one venue and those that another show of it brings; what both know is there once.

    Those that are brought get numbers after the others where a number is taken.
    """
    known = {_identity(case): number for number, case in here.items()}
    found = dict(here)
    for case in brought.values():
        number = known.get(_identity(case))
        if number is None:
            number = case.number if case.number not in found else max(found) + 1
        elif len(found[number].steps) >= len(case.steps):
            continue
        found[number] = replace(case, number=number)
    return found


def _identity(case: Case) -> tuple[object, ...]:
    return case.fixture, case.position, case.unit, case.steps[0].at, case.steps[0].name
