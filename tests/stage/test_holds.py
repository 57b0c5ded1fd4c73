"""Who may touch what, and when."""

import pytest

from server.rig.patch import Fixture
from server.rig.said import Said
from server.stage.events import Taken
from server.stage.holds import AWAY_S, Refused, Touch, touch
from server.stage.state import State
from tests.rigs import PROFILES, RIG, state_with, unit

__all__: list[str] = []


def held_by(person: str, *fixtures: Fixture) -> State:
    state = state_with(*fixtures)
    state.holders = dict.fromkeys(state.fixtures, person)
    return state


def taken(answer: Touch | Refused) -> bool:
    assert isinstance(answer, Touch), answer
    return bool(answer.first)


def why(answer: Touch | Refused) -> str:
    assert isinstance(answer, Refused), answer
    return answer.why


def test_a_fixture_nobody_has_is_taken_with_the_first_touch() -> None:
    assert touch(state_with(), "mo", "spot", 0) == Touch(
        RIG["spot"], PROFILES["dimmer"].modes[0], (Taken("mo", "spot"),)
    )


def test_whoever_has_it_does_not_take_it_again() -> None:
    assert not taken(touch(held_by("mo"), "mo", "spot", 0))


def test_a_stranger_touches_nothing() -> None:
    assert why(touch(state_with(), "eve", "spot", 0)) == "You have not joined. Join with your name first."


@pytest.mark.parametrize("fixture", ["nobody", "lost"])
def test_what_does_not_exist_or_has_no_mode_cannot_be_touched(fixture: str) -> None:
    answer = touch(state_with(unit("lost", "nothing")), "mo", fixture, 0)
    assert answer == Refused(Said("There is no such fixture any more."), fixture)


def test_house_staff_touch_house_fixtures_only() -> None:
    assert taken(touch(state_with(), "hal", "aisle", 0))
    assert why(touch(state_with(), "hal", "spot", 0)).startswith("1 is not a house fixture. Ask the lead")


@pytest.mark.parametrize(
    ("fixture", "sentence"),
    [
        ("fog", "41 is guarded (fog): it stays at its safe value."),
        ("pump", "42 is guarded: it stays at its safe value."),
    ],
)
def test_nobody_touches_a_guarded_unit(fixture: str, sentence: str) -> None:
    for person in ("ann", "mo"):
        assert why(touch(state_with(), person, fixture, 0, over=True)) == sentence


def test_somebody_elses_is_refused_with_the_name_and_what_would_do() -> None:
    assert touch(held_by("kit"), "mo", "head", 0) == Refused(
        Said("Kit has 21. Take it?"), "head", "kit", "take"
    )
    unnamed = held_by("kit", unit("a", position="Bridge 1", unit="2"))
    assert why(touch(unnamed, "mo", "a", 0)) == "Kit has Bridge 1 unit 2. Take it?"


def test_even_the_lead_is_asked_first() -> None:
    assert why(touch(held_by("kit"), "ann", "head", 0)) == "Kit has 21. Take it?"


def test_taking_over_takes_it() -> None:
    assert taken(touch(held_by("kit"), "mo", "head", 0, over=True))
    assert not taken(touch(held_by("mo"), "mo", "head", 0, over=True))


@pytest.mark.parametrize(("away", "free"), [(0.0, False), (AWAY_S - 0.01, False), (AWAY_S, True)])
def test_30_s_away_somebody_no_longer_keeps_others_from_a_light(away: float, free: bool) -> None:
    state = held_by("kit")
    state.gone["kit"] = 100.0
    assert isinstance(touch(state, "mo", "head", 100.0 + away), Touch) == free


def test_somebody_forgotten_keeps_nobody_from_a_light() -> None:
    assert taken(touch(held_by("eve"), "mo", "head", 0))
