"""The register of faults as phones see it."""

from typing import Any

from server.stage.found import Case
from server.stage.state import State

__all__ = ["case_view", "faults_view"]


def faults_view(state: State) -> dict[str, int]:
    """How many are open, how many are fixed and still to be seen, and a number that grows with each step."""
    cases = state.cases.values()
    status = [case.status for case in cases]
    steps = sum(len(case.steps) for case in cases)
    return {"open": status.count("open"), "fixed": status.count("fixed"), "steps": steps}


def case_view(state: State, case: Case) -> dict[str, Any]:
    """One fault with all that became of it. here: the unit hangs in the rig as it is now."""
    names = ("number", "fixture", "channel", "position", "unit", "type", "show", "reason", "words", "status")
    steps = [
        {"what": step.what, "by": step.name, "at": step.at, "words": step.words, "photo": step.photo}
        for step in case.steps
    ]
    here = {"here": case.fixture in state.fixtures, "steps": steps}
    return {**{name: getattr(case, name) for name in names}, **here}
