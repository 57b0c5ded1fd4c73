"""The rules for faults: opened, said more of, fixed, seen to work, open again, and undone."""

import pytest

from server.stage import commands as ask
from server.stage.found import Photo
from server.stage.stage import Stage
from server.stage.state import Fault
from tests.rigs import done, refused, stage_with, unit

__all__: list[str] = []


def story(stage: Stage, number: int = 1) -> list[tuple[str, str]]:
    return [(step.what, step.words) for step in stage.state.cases[number].steps]


def test_the_one_sentence_opens_a_case_says_more_of_it_and_null_ends_it() -> None:
    stage = stage_with()
    done(stage, ask.MarkFault("mo", "spot", "lamp  out"), 5.0)
    done(stage, ask.MarkFault("kit", "spot", "lamp out, socket burnt"), 6.0)
    assert stage.state.faults["spot"] == Fault("lamp out, socket burnt", "kit")
    done(stage, ask.MarkFault("kit", "spot", None), 7.0)
    assert story(stage) == [("opened", "lamp out"), ("said", "lamp out, socket burnt"), ("verified", "")]
    assert (stage.state.faults, stage.state.cases[1].status) == ({}, "verified")
    assert done(stage, ask.MarkFault("kit", "spot", None)) == []
    done(stage, ask.MarkFault("mo", "spot", "dark"), 8.0)
    assert set(stage.state.cases) == {1, 2}


def test_fixed_waits_for_somebody_to_see_it_and_a_rig_check_is_that() -> None:
    stage = stage_with()
    done(stage, ask.MarkFault("mo", "spot", "dark"), 5.0)
    done(stage, ask.SettleFault("kit", 1, "fixed", " new  lamp "), 6.0)
    assert (stage.state.faults, stage.state.cases[1].status) == ({}, "fixed")
    assert "not open" in refused(stage, ask.SettleFault("kit", 1, "fixed")).why
    done(stage, ask.Judge("mo", "spot", works=True), 7.0)
    assert story(stage) == [("opened", "dark"), ("fixed", "new lamp"), ("verified", "")]
    assert "over already" in refused(stage, ask.SettleFault("kit", 1, "verified")).why


def test_what_fails_again_is_open_again_with_its_story() -> None:
    stage = stage_with()
    done(stage, ask.MarkFault("mo", "spot", "dark"), 5.0)
    done(stage, ask.SettleFault("kit", 1, "fixed"), 6.0)
    done(stage, ask.Judge("mo", "spot", works=False, reason="weak"), 7.0)
    assert (stage.state.cases[1].status, stage.state.faults["spot"].words) == ("open", "Weak light")
    assert "open fault already" in refused(stage, ask.SettleFault("mo", 1, "reopened")).why
    done(stage, ask.SettleFault("mo", 1, "verified"), 8.0)
    done(stage, ask.SettleFault("mo", 1, "reopened", "dark again"), 9.0)
    assert stage.state.faults["spot"].words == "dark again"


def test_a_fault_from_before_there_was_a_register_gets_its_case_when_it_ends() -> None:
    stage = stage_with()
    stage.state.faults["spot"] = Fault("old", "mo")
    done(stage, ask.MarkFault("kit", "spot", None), 5.0)
    assert story(stage) == [("opened", "old"), ("verified", "")]


def test_undoing_each_step_gives_the_story_before_and_doing_it_again_the_one_after() -> None:
    stage = stage_with()
    done(stage, ask.MarkFault("mo", "spot", "dark"), 5.0)
    done(stage, ask.SettleFault("mo", 1, "fixed"), 6.0)
    done(stage, ask.SettleFault("mo", 1, "verified"), 7.0)
    last, after = max(stage.state.changes), dict(stage.state.cases)
    for number in (last, last - 1):
        done(stage, ask.Undo("mo", number), 8.0)
    assert (stage.state.cases[1].status, stage.state.faults["spot"].words) == ("open", "dark")
    for number in (last - 1, last):
        done(stage, ask.Undo("mo", number), 9.0)
    assert stage.state.cases == after
    assert stage.state.faults == {}


def test_house_staff_write_and_settle_faults_of_house_fixtures() -> None:
    stage = stage_with(unit("h", address=1, house=True), unit("s", address=2))
    done(stage, ask.MarkFault("hal", "h", "dark"))
    done(stage, ask.SettleFault("hal", 1, "fixed"))
    assert "House staff" in refused(stage, ask.MarkFault("hal", "s", "dark")).why
    done(stage, ask.MarkFault("mo", "s", "dark"))
    assert "House staff" in refused(stage, ask.SettleFault("hal", 2, "fixed")).why


@pytest.mark.parametrize(
    "asked",
    [
        ask.SettleFault("mo", 9, "fixed"),
        ask.SettleFault("mo", 1, "opened"),
        ask.SettleFault("mo", 1, "said"),
        ask.SettleFault("mo", 1, "fixed", "n" * 201),
        ask.SettleFault("mo", 1, "fixed", photo="of another"),
        ask.MarkFault("mo", "spot", " "),
        ask.MarkFault("mo", "spot", "n" * 201),
        ask.MarkFault("mo", "nobody", "dark"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(asked: ask.Command) -> None:
    stage = stage_with()
    stage.state.photos["of another"] = Photo("head", "mo", "Mo", 1.0, 9)
    done(stage, ask.MarkFault("mo", "spot", "dark"))
    refused(stage, asked)
