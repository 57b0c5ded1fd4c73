"""The register of faults: one open case a unit, its story, and what stays with a venue from show to show."""

from server.stage import commands as ask
from server.stage.carried import carried, put_in
from server.stage.cases import MOST_STEPS, case_of, cases_of, merged, with_step
from server.stage.found import Case, FaultStep
from server.stage.state import Show, State
from tests.rigs import done, stage_with, state_with, unit

__all__: list[str] = []


def case(number: int, fixture: str = "a", at: float = 1.0, **more: str) -> Case:
    opened = FaultStep("opened", "mo", "Mo", at, "dark")
    told = {"position": "Bar", "unit": "2", "type": "Dimmer", "show": "", "venue": "", "reason": "", **more}
    return Case(number, fixture, None, words="dark", steps=(opened,), **told)


def test_the_status_is_that_of_the_last_step_that_is_one() -> None:
    one = case(1)
    for what, status in (
        ("said", "open"),
        ("fixed", "fixed"),
        ("said", "fixed"),
        ("verified", "verified"),
        ("reopened", "open"),
    ):
        one = with_step(one, FaultStep(what, "mo", "Mo", 2.0))
        assert one.status == status
    for _ in range(2 * MOST_STEPS):
        one = with_step(one, FaultStep("said", "mo", "Mo", 3.0))
    assert (len(one.steps), one.steps[0].what) == (MOST_STEPS, "opened")


def test_a_unit_is_known_by_itself_and_in_another_show_by_its_place() -> None:
    state = state_with(unit("a", position="Bar", unit="2"), unit("b", address=2))
    state.cases = {1: case(1), 2: case(2, "gone"), 3: case(3, "gone", unit="9"), 4: case(4, "b", unit="")}
    assert [c.number for c in cases_of(state, state.fixtures["a"])] == [2, 1]
    assert [c.number for c in cases_of(state, state.fixtures["b"])] == [4]
    assert case_of(state, "a") == state.cases[1]


def test_what_both_know_is_there_once_and_the_longer_story_stays() -> None:
    here = {1: case(1), 2: case(2, at=5.0)}
    longer = with_step(case(9), FaultStep("fixed", "mo", "Mo", 7.0))
    found = merged(here, {9: longer, 1: case(1, "other")})
    assert {number: c.fixture for number, c in found.items()} == {1: "a", 2: "a", 3: "other"}
    assert (found[1].status, found[1].number) == ("fixed", 1)
    assert merged(found, here) == found


def test_a_venue_keeps_its_faults_when_another_show_of_it_comes_in() -> None:
    stage, other = stage_with(), State(show=Show("Next", "Marrow Street"))
    stage.state.show = Show("First", "Marrow Street")
    done(stage, ask.MarkFault("mo", "spot", "dark"), 5.0)
    put_in(stage.state, carried(other))
    assert [c.words for c in stage.state.cases.values()] == ["dark"]
    assert stage.state.faults == {}
    put_in(stage.state, carried(State(show=Show("Away", "Elsewhere"))))
    assert stage.state.cases == {}
