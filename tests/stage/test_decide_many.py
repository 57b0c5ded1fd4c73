"""Several fixtures in one command, and what is wrong with one."""

import pytest

from server.stage import commands, events
from tests.rigs import done, refused, stage_with

__all__: list[str] = []


def test_several_fixtures_are_taken_and_set_together() -> None:
    stage = stage_with()
    answer = done(stage, commands.SetMany("mo", {"spot": {"Dimmer": 0.5}, "aisle": {"Dimmer": 1.0}}))
    assert answer == [
        events.Taken("mo", "spot"),
        events.LevelsSet("mo", "spot", {"Dimmer": 128}),
        events.Taken("mo", "aisle"),
        events.LevelsSet("mo", "aisle", {"Dimmer": 255}),
    ]


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({"spot": {"Dimmer": 0.5}, "fog": {"Fog1": 0.5}}, "guarded"),
        ({"spot": {"Dimmer": 0.5}, "aisle": {"Dimmer": 1.5}}, "not between 0 and 1"),
        ({"spot": {"Dimmer": 0.5}, "aisle": {"Nope": 0.5}}, "no control called Nope"),
        ({"spot": {"Dimmer": 0.5}, "aisle": {}}, "Nothing was asked"),
        ({"spot": {"Dimmer": 0.5}, "gone": {"Dimmer": 0.5}}, "no such fixture"),
        ({}, "No fixture is named"),
    ],
)
def test_one_that_cannot_be_set_leaves_all_as_they_are(values: dict[str, dict[str, float]], why: str) -> None:
    assert why in refused(stage_with(), commands.SetMany("mo", values)).why


def test_one_in_somebody_elses_hand_is_asked_for_and_all_wait() -> None:
    stage = stage_with()
    done(stage, commands.Take("kit", "aisle"))
    answer = refused(stage, commands.SetMany("mo", {"spot": {"Dimmer": 0.5}, "aisle": {"Dimmer": 0.5}}))
    assert (answer.ask, answer.holder, answer.fixture) == ("take", "kit", "aisle")


def test_a_fault_is_written_down_in_words_and_taken_back() -> None:
    stage = stage_with()
    done(stage, commands.MarkFault("mo", "spot", "  lamp   dead "))
    assert stage.state.faults["spot"].words == "lamp dead"
    assert stage.state.faults["spot"].person == "mo"
    done(stage, commands.MarkFault("kit", "spot", None))
    assert "spot" not in stage.state.faults


@pytest.mark.parametrize("words", ["", "   ", "x" * 201])
def test_a_fault_needs_words_that_fit_a_line(words: str) -> None:
    assert "1 to 200 characters" in refused(stage_with(), commands.MarkFault("mo", "spot", words)).why


def test_a_fault_is_written_down_for_a_fixture_that_is_there() -> None:
    assert "no such fixture" in refused(stage_with(), commands.MarkFault("mo", "gone", "dead")).why


def test_a_fixture_that_is_removed_takes_its_fault_and_its_people_along() -> None:
    stage = stage_with()
    done(stage, commands.Take("mo", "spot"))
    assert stage.state.last_at == {"mo": "spot"}
    done(stage, commands.MarkFault("mo", "spot", "dead"))
    stage.happen([events.FixtureRemoved("", "spot")])
    assert not stage.state.faults
    assert not stage.state.last_at


def test_house_staff_write_down_faults_of_house_fixtures_only() -> None:
    stage = stage_with()
    done(stage, commands.MarkFault("hal", "aisle", "flickers"))
    assert "house fixtures" in refused(stage, commands.MarkFault("hal", "spot", "dead")).why


def test_hands_hold_the_unit_where_it_is_and_not_where_it_was_going() -> None:
    stage = stage_with()
    done(stage, commands.SetValues("mo", "head", {"Pan": 1.0}))
    (event,) = done(stage, commands.HandsOn("mo", "head", True, leaving={"head": {"Pan": 40_000}}))
    assert isinstance(event, events.HandsOnSet)
    assert event.frozen is not None
    assert event.frozen["Pan"] == 40_000
