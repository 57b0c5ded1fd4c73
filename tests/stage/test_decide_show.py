"""Looks, the baseline, the focus order and the lead's settings."""

import math
from dataclasses import fields

import pytest

from server.stage import events
from server.stage.commands import (
    ChangeSettings,
    Command,
    DeleteLook,
    LetGo,
    RecallLook,
    RenameLook,
    SaveLook,
    SetBaseline,
    SetOrder,
    SetValues,
    StarProfile,
    Undo,
    UpdateLook,
)
from server.stage.decide_show import LIMITS, LONGEST_FADE_S, MOST_LOOKS
from server.stage.events import BaselineSet, LookRecalled, LookSaved
from server.stage.looks import in_hand, values_that_differ
from server.stage.stage import Stage
from server.stage.state import Look, Settings
from tests.rigs import PROFILES, RIG, done, refused, stage_with

__all__: list[str] = []

GONE = "There is no such look any more."
LEAD_ONLY = "Only the lead can do that."


def with_look(level: float = 0.5, baseline: bool = False) -> Stage:
    """A stage with a look "one" that has spot and work at a level, and nothing in hand."""
    stage = stage_with()
    for fixture in ("spot", "batten"):
        done(stage, SetValues("ann", fixture, {"Dimmer": level}))
    done(stage, SaveLook("ann", "one", "One", ("spot", "batten"), baseline))
    done(stage, LetGo("ann", "*"))
    return stage


def spot(stage: Stage) -> int:
    return stage.state.asked("spot", PROFILES["dimmer"].modes[0])["Dimmer"]


def test_crew_save_what_is_on_stage_under_a_tidied_name() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "spot", {"Dimmer": 1}))
    look = Look("one", "Warm wash", {"spot": {"Dimmer": 255}, "aisle": {"Dimmer": 0}})
    assert done(stage, SaveLook("mo", "one", "  Warm \n wash ", ("spot", "aisle"))) == [LookSaved("mo", look)]
    assert stage.state.looks == {"one": look}


def test_without_a_choice_the_whole_rig_is_saved_but_for_what_is_guarded() -> None:
    stage = stage_with()
    done(stage, SaveLook("mo", "one", "One"))
    assert set(stage.state.looks["one"].values) == set(RIG) - {"fog", "pump"}


@pytest.mark.parametrize("name", ["", "   ", "x" * 61])
def test_a_look_needs_a_name_of_1_to_60_characters(name: str) -> None:
    why = "Give the look a name of 1 to 60 characters."
    assert refused(stage_with(), SaveLook("mo", "one", name)).why == why
    assert refused(with_look(), RenameLook("ann", "one", name)).why == why
    done(stage_with(), SaveLook("mo", "one", "x" * 60))


def test_a_chosen_fixture_that_is_gone_is_refused() -> None:
    answer = refused(stage_with(), SaveLook("mo", "one", "One", ("spot", "nobody")))
    assert answer.fixture == "nobody"
    assert answer.why == "One of the chosen fixtures does not exist any more."


@pytest.mark.parametrize(
    "command",
    [
        SaveLook("mo", "one", "Other"),
        SaveLook("mo", "new", "New", None, baseline=True),
        RenameLook("mo", "one", "Other"),
        DeleteLook("mo", "one"),
        SetBaseline("mo", "one"),
        SetOrder("mo", ()),
        StarProfile("mo", "dimmer", True),
        ChangeSettings("mo", {"let_go_s": 1.0}),
    ],
)
def test_what_is_kept_for_everybody_is_the_leads(command: Command) -> None:
    assert refused(with_look(), command).why == LEAD_ONLY


@pytest.mark.parametrize("command", [SaveLook("hal", "new", "New"), RecallLook("hal", "one", 1.0)])
def test_house_staff_neither_save_nor_recall(command: Command) -> None:
    assert refused(with_look(), command).why == "Only the lead or the crew can do that."


def test_the_lead_replaces_a_look_and_calls_it_something_else() -> None:
    stage = with_look()
    done(stage, SaveLook("ann", "one", "Uno", ("spot",)))
    assert stage.state.looks["one"] == Look("one", "Uno", {"spot": {"Dimmer": 0}})
    done(stage, RenameLook("ann", "one", " Eins "))
    assert stage.state.looks["one"] == Look("one", "Eins", {"spot": {"Dimmer": 0}})


def test_a_show_holds_so_many_looks() -> None:
    stage = with_look()
    for number in range(MOST_LOOKS - 1):
        stage.state.looks[str(number)] = Look(str(number), "Filler", {})
    assert refused(stage, SaveLook("ann", "more", "More")).why.startswith(
        f"A show holds up to {MOST_LOOKS} looks."
    )
    done(stage, SaveLook("ann", "one", "Again"))


@pytest.mark.parametrize(
    "command",
    [
        RenameLook("ann", "two", "Two"),
        DeleteLook("ann", "two"),
        RecallLook("mo", "two", 1.0),
        SetBaseline("ann", "two"),
    ],
)
def test_a_look_that_is_gone_is_refused(command: Command) -> None:
    assert refused(with_look(), command).why == GONE


def test_a_look_comes_up_under_whatever_is_in_hand() -> None:
    stage = with_look()
    done(stage, SetValues("ann", "batten", {"Dimmer": 1}))
    assert done(stage, RecallLook("mo", "one", 2.0)) == [LookRecalled("mo", "one", 2.0)]
    assert spot(stage) == 128
    assert stage.state.asked("batten", PROFILES["batten"].modes[0])["Dimmer"] == 255
    done(stage, LetGo("ann", "batten"))
    assert stage.state.asked("batten", PROFILES["batten"].modes[0])["Dimmer"] == 128


def test_a_look_leaves_work_light_alone_and_the_baseline_sets_it() -> None:
    stage = stage_with()
    done(stage, SetValues("ann", "work", {"Dimmer": 1}))
    done(stage, SaveLook("ann", "lit", "Lit", ("work",)))
    done(stage, LetGo("ann", "*"))
    done(stage, RecallLook("mo", "lit", 0.0))
    assert stage.state.asked("work", PROFILES["dimmer"].modes[0])["Dimmer"] == 0
    done(stage, SetBaseline("ann", "lit"))
    assert stage.state.asked("work", PROFILES["dimmer"].modes[0])["Dimmer"] == 255


@pytest.mark.parametrize("fade_s", [-0.1, LONGEST_FADE_S + 1, math.nan, math.inf])
def test_a_fade_outside_0_to_an_hour_is_refused(fade_s: float) -> None:
    assert refused(with_look(), RecallLook("ann", "one", fade_s)).why.startswith(
        "A fade takes 0 to 3600 seconds"
    )


def test_a_look_deleted_leaves_what_it_put_on_stage() -> None:
    stage = with_look()
    done(stage, RecallLook("ann", "one", 0.0))
    assert done(stage, DeleteLook("ann", "one")) == [events.LookDeleted("ann", "one")]
    assert stage.state.looks == {}
    assert spot(stage) == 128


def test_everything_falls_back_to_the_baseline_over_the_time_of_letting_go() -> None:
    stage = with_look()
    assert done(stage, SetBaseline("ann", "one")) == [BaselineSet("ann", "one", 2.0)]
    assert spot(stage) == 128
    done(stage, SetBaseline("ann", None))
    assert spot(stage) == 0


def test_saving_as_the_baseline_does_both() -> None:
    stage = with_look(baseline=True)
    assert stage.state.baseline == "one"
    assert spot(stage) == 128


def test_recalling_the_baseline_takes_back_every_look_recalled_since() -> None:
    stage = with_look(0.5, baseline=True)
    done(stage, SetValues("ann", "spot", {"Dimmer": 1}))
    done(stage, SaveLook("ann", "two", "Two", ("spot",)))
    done(stage, LetGo("ann", "*"))
    done(stage, RecallLook("mo", "two", 0.0))
    assert spot(stage) == 255
    done(stage, RecallLook("mo", "one", 0.0))
    assert stage.state.recalled == {}
    assert spot(stage) == 128


def test_the_baseline_is_not_deleted() -> None:
    stage = with_look(baseline=True)
    assert refused(stage, DeleteLook("ann", "one")).why == (
        "This look is the baseline. Choose another baseline first."
    )


def test_the_focus_order_names_fixtures_once_each() -> None:
    stage = stage_with()
    assert done(stage, SetOrder("ann", ("head", "spot"))) == [events.OrderSet("ann", ("head", "spot"))]
    assert stage.state.order == ("head", "spot")
    assert (
        refused(stage, SetOrder("ann", ("spot", "spot"))).why == "A fixture stands in the focus order once."
    )
    assert refused(stage, SetOrder("ann", ("spot", "nobody"))).why == (
        "The focus order names a fixture that does not exist any more."
    )


def test_the_lead_changes_some_settings_and_the_others_stay() -> None:
    stage = stage_with()
    settings = Settings(light_up_s=1.5, light_up_level=0.5)
    assert done(stage, ChangeSettings("ann", {"light_up_s": 1.5, "light_up_level": 0.5})) == [
        events.SettingsChanged("ann", settings)
    ]
    assert stage.state.settings == settings


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"colour": 1.0}, "There is no setting called colour."),
        ({"light_up_s": 0.4}, "light_up_s goes from 0.5 to 10, not 0.4."),
        ({"light_up_level": 1.1}, "light_up_level goes from 0.01 to 1, not 1.1."),
        ({"light_up_level": 0.0}, "light_up_level goes from 0.01 to 1, not 0."),
        ({"let_go_s": math.nan}, "let_go_s goes from 0 to 60, not nan."),
        ({"let_go_s": 1.0, "light_up_s": math.inf}, "light_up_s goes from 0.5 to 10, not inf."),
    ],
)
def test_a_setting_that_is_unknown_or_out_of_range_is_refused(changes: dict[str, float], why: str) -> None:
    assert refused(stage_with(), ChangeSettings("ann", changes)).why == why


def test_every_setting_has_limits_and_starts_within_them() -> None:
    assert set(LIMITS) == {part.name for part in fields(Settings)}
    for name, (low, high) in LIMITS.items():
        assert low <= getattr(Settings(), name) <= high


def test_the_newest_star_comes_first_and_each_profile_has_one_at_most() -> None:
    stage = stage_with()
    for key in ("a", "b", "a"):
        done(stage, StarProfile("ann", key, True))
    assert stage.state.stars == ("a", "b")
    assert done(stage, StarProfile("ann", "a", False)) == [events.StarsSet("ann", ("b",))]
    for number in range(99):
        done(stage, StarProfile("ann", f"p{number}", True))
    assert refused(stage, StarProfile("ann", "one more", True)).why == "A show stars up to 100 profiles."


def test_a_look_takes_what_is_in_the_leads_hand_as_it_was_shown_and_is_undone() -> None:
    stage = with_look()
    before = dict(stage.state.looks["one"].values)
    assert refused(stage, UpdateLook("ann", "one")).why == "What you have in hand is in the look already."
    done(stage, SetValues("ann", "spot", {"Dimmer": 1}))
    done(stage, SetValues("ann", "wash", {"Dimmer": {"raw": 9}}))
    done(stage, SetValues("mo", "batten", {"Dimmer": 1}))  # not in this hand
    values = in_hand(stage.state, "one", "ann")
    differs = values_that_differ(before, values)
    assert differs["spot"] == {"Dimmer": 255}
    assert differs["wash"]["Dimmer"] == 9  # it comes whole, for it was not in the look
    assert set(differs) == {"spot", "wash"}
    done(stage, SetValues("ann", "spot", {"Dimmer": 0.2}))
    why = "Something else is in your hand by now. Look at it once more."
    assert refused(stage, UpdateLook("ann", "one", differs)).why == why
    done(stage, SetValues("ann", "spot", {"Dimmer": 1}))
    assert refused(stage, UpdateLook("mo", "one")).why == LEAD_ONLY
    assert refused(stage, UpdateLook("ann", "two")).why == GONE
    done(stage, UpdateLook("ann", "one", differs))
    assert stage.state.looks["one"].values == values
    done(stage, Undo("ann", stage.state.changed))
    assert stage.state.looks["one"].values == before
