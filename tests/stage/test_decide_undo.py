"""Undoing: by whom, in which order, and by the same checks as setting by hand."""

from typing import Any

import pytest

from server.stage import commands as ask
from server.stage import events
from server.stage.commands import Command
from server.stage.events import Event
from server.stage.stage import Stage
from server.stage.state import Aloft, Before, Look, SlotLevel
from tests.rigs import done, refused, stage_with, unit

__all__: list[str] = []


def after(*asked: Command, stage: Stage | None = None) -> Stage:
    """A stage on which all that was done, ten seconds apart."""
    stage = stage or stage_with()
    for turn, command in enumerate(asked, 1):
        done(stage, command, 10.0 * turn)
    return stage


def undo(stage: Stage, change: int, person: str = "mo", **more: Any) -> events.PutBack:
    (back,) = [e for e in _undo(stage, change, person, **more) if isinstance(e, events.PutBack)]
    return back


def _undo(stage: Stage, change: int, person: str, **more: Any) -> list[Event]:
    return done(stage, ask.Undo(person, change, **more), 100.0)


def why(stage: Stage, change: int, person: str = "mo", **more: Any) -> str:
    return refused(stage, ask.Undo(person, change, **more), 100.0).why


SET = ask.SetValues("mo", "spot", {"Dimmer": {"raw": 200}})


def test_levels_and_the_hold_go_back_by_a_fade() -> None:
    stage = after(SET)
    back = undo(stage, 1)
    assert (stage.state.hand, stage.state.holders, back.fade_s) == ({}, {}, 2.0)
    stage.state.settings = type(stage.state.settings)(let_go_s=0)
    assert undo(stage, 1).fade_s == 0.5
    assert stage.state.hand == {"spot": {"Dimmer": 200}}
    assert stage.state.holders == {"spot": "mo"}


def test_letting_go_undone_brings_hold_and_values_back() -> None:
    stage = after(SET, ask.LetGo("mo", "spot"))
    undo(stage, 2)
    assert (stage.state.hand, stage.state.holders) == ({"spot": {"Dimmer": 200}}, {"spot": "mo"})


def test_a_change_is_its_authors_and_the_leads() -> None:
    stage = after(ask.SetMaster("mo", 0.5))
    assert why(stage, 1, "kit") == "Mo did that. Only Mo or the lead can undo it."
    undo(stage, 1, "ann")
    assert why(stage, 1, "mo") == "Ann undid that. Only Ann or the lead can do it again."
    undo(stage, 1, "ann")
    undo(stage, 1, "mo")
    assert stage.state.master == 1.0


def test_what_came_later_about_the_same_is_undone_first() -> None:
    stage = after(SET, ask.LetGo("mo", "spot"), ask.Take("kit", "spot"), ask.SetMaster("kit", 0.5))
    assert why(stage, 1) == "Kit changed 1 after that. Undo that first."
    undo(stage, 3, "kit")
    assert why(stage, 1) == "Mo changed 1 after that. Undo that first."
    undo(stage, 2)
    undo(stage, 1)
    assert why(stage, 2) == "Mo undid a change of 1 after that. Do that again first."
    undo(stage, 1)
    undo(stage, 2)
    undo(stage, 3, "kit")
    assert stage.state.holders == {"spot": "kit"}


def test_what_was_undone_before_something_new_is_not_done_again() -> None:
    stage = after(SET)
    undo(stage, 1)
    done(stage, ask.Take("kit", "spot"), 200.0)
    assert why(stage, 1) == "Kit changed 1 after that. Undo that first."


@pytest.mark.parametrize(
    ("command", "what"),
    [
        (ask.Act("mo", "head", "Control1", "Recalibrate", held=True), "Did: Recalibrate."),
        (ask.HandsOn("mo", "spot", on=True), "Hands on."),
        (ask.GoAloft("mo", "Bridge 1"), "Aloft: Bridge 1."),
        (ask.CallDark("ann"), "Called dark."),
        (ask.Arm("ann", "fog", "test"), "Armed it: test."),
        (ask.LiftFlashes("ann", "head"), "Let it flash faster."),
    ],
)
def test_marks_and_what_has_happened_are_not_undone_and_it_says_so(command: Command, what: str) -> None:
    assert why(after(command), 1, command.person) == f"{what} That cannot be undone."


def test_what_is_too_long_ago_is_said_too() -> None:
    assert why(stage_with(), 7) == "That is too long ago: the last 500 changes can be undone."


def test_nothing_is_taken_out_of_another_hand_without_asking() -> None:
    stage = after(SET)
    answer = refused(stage, ask.Undo("ann", 1), 100.0)
    assert (answer.why, answer.ask, answer.holder) == ("Mo has 1. Take it?", "take", "mo")
    undo(stage, 1, "ann", over=True)
    assert stage.state.holders == {}
    # And where it stays in that hand, only the value goes back.
    stage = after(SET, ask.SetValues("mo", "spot", {"Dimmer": 0.5}))
    undo(stage, 2, "ann", over=True)
    assert (stage.state.hand, stage.state.holders) == ({"spot": {"Dimmer": 200}}, {"spot": "mo"})


def test_taking_it_over_undone_gives_it_back_with_its_values() -> None:
    stage = after(SET, ask.Take("kit", "spot", over=True))
    undo(stage, 2, "kit")
    assert (stage.state.hand, stage.state.holders) == ({"spot": {"Dimmer": 200}}, {"spot": "mo"})


def test_hands_on_a_unit_keep_it_where_it_is() -> None:
    stage = after(ask.SetValues("mo", "head", {"Pan": 1.0}), ask.SetValues("mo", "head", {"Pan": 0.0}))
    done(stage, ask.HandsOn("kit", "head", on=True))
    assert "Hands are on 21" in why(stage, 2)


def test_near_somebody_aloft_motion_comes_back_only_when_held_and_slowly() -> None:
    stage = after(ask.SetValues("mo", "head", {"Pan": 1.0}), ask.SetValues("mo", "head", {"Pan": 0.0}))
    done(stage, ask.GoAloft("kit", "Bridge 1"))
    answer = refused(stage, ask.Undo("mo", 2), 100.0)
    assert answer.ask == "held"
    happened = _undo(stage, 2, "mo", held=True)
    assert events.StillSet("mo", "head", None) in happened
    assert [e.fade_s for e in happened if isinstance(e, events.PutBack)] == [3.0]


def test_let_go_by_undoing_beside_somebody_aloft_it_stays_where_it_points() -> None:
    stage = after(ask.SetValues("mo", "head", {"Pan": 1.0}))
    stage.state.aloft["kit"] = Aloft("Bridge 1", 0.0)
    happened = _undo(stage, 1, "mo", leaving={"head": {"Pan": 777}})
    assert [e.frozen["Pan"] for e in happened if isinstance(e, events.StillSet) and e.frozen] == [777]


def test_light_is_never_taken_from_somebody_aloft() -> None:
    stage = after(ask.SetBlackout("mo", True), ask.SetBlackout("mo", False), ask.SetMaster("mo", 0.05))
    done(stage, ask.SetMaster("mo", 1.0), 90.0)
    done(stage, ask.GoAloft("kit", "Bridge 1"))
    for change in (2, 4):
        answer = refused(stage, ask.Undo("mo", change), 100.0)
        assert ("Somebody is aloft" in answer.why, answer.ask) == (True, "dark")


def test_flashing_comes_back_only_when_held() -> None:
    strobe = ask.SetValues("mo", "head", {"Shutter1": {"raw": 140}}, held=True)
    stage = after(strobe, ask.LetGo("mo", "head"))
    assert refused(stage, ask.Undo("mo", 2), 100.0).ask == "held"
    undo(stage, 2, held=True)
    assert stage.state.flashing == {"head": "mo"}


def test_guards_and_work_light_stay_what_they_are() -> None:
    stage = after(SET, ask.LetGo("mo", "spot"))
    stage.state.fixtures["spot"] = unit("spot", channel=1, guarded=True)
    assert "guarded" in why(stage, 2)
    stage.state.fixtures["spot"] = unit("spot", channel=1, work_light=True)
    assert "work light" in why(stage, 2)


def test_slots_off_limits_by_now_are_not_driven() -> None:
    stage = after(ask.SetSlot("mo", 1, 400, 9), ask.SetSlot("mo", 1, 400, None))
    stage.state.changes[2].before.slots[1] = {505: SlotLevel(9, "mo")}  # type: ignore[union-attr]
    assert "off limits" in why(stage, 2)


def test_a_slot_that_belongs_to_a_fixture_by_now_gets_no_level_of_its_own() -> None:
    stage = after(ask.SetSlot("mo", 1, 400, 9), ask.SetSlot("mo", 1, 400, None))
    stage.state.fixtures["new"] = unit("new", address=400)
    assert undo(stage, 2).before == Before()


def test_a_removed_fixture_comes_back_with_all_that_was_kept_for_it() -> None:
    stage = stage_with()
    stage.state.looks["one"] = Look("one", "One", {"head": {"Pan": 1}, "spot": {"Dimmer": 2}})
    after(
        ask.SetValues("ann", "head", {"Pan": 0.5}),
        ask.MarkFault("mo", "head", "dark"),
        ask.ChangePatch("ann", remove=("head",)),
        stage=stage,
    )
    assert "head" not in stage.state.looks["one"].values
    undo(stage, 3, "ann")
    assert stage.state.looks["one"].values == {"head": {"Pan": 1}, "spot": {"Dimmer": 2}}
    assert (stage.state.hand["head"], stage.state.holders["head"]) == ({"Pan": 32768}, "ann")
    assert stage.state.faults["head"].words == "dark"
    assert "head" in stage.state.order


def test_a_fixture_does_not_come_back_where_another_is_by_now() -> None:
    stage = after(ask.ChangePatch("ann", remove=("spot",)), ask.ChangePatch("ann", put=(unit("new"),)))
    assert "two that always do the same" in why(stage, 1, "ann")


def test_what_was_taken_in_another_mode_waits_for_that_to_be_undone() -> None:
    stage = stage_with()
    stage.state.looks["one"] = Look("one", "One", {"head": {"Pan": 60000}})
    coarse = unit("head", "head", 11, channel=21, mode="coarse")
    after(ask.DeleteLook("ann", "one"), ask.ChangePatch("ann", put=(coarse,)), stage=stage)
    assert why(stage, 1, "ann") == "Ann changed 21 after that. Undo that first."
    del stage.state.changes[2]  # long ago by now: then what does not fit is left out
    undo(stage, 1, "ann")
    assert stage.state.looks["one"].values == {"head": {}}


def test_a_look_that_is_the_baseline_by_now_does_not_go() -> None:
    stage = after(ask.SaveLook("mo", "one", "One"), ask.SetBaseline("ann", "one"))
    assert why(stage, 1) == "This look is the baseline. Choose another baseline first."


def test_a_baseline_that_was_deleted_is_no_baseline_again() -> None:
    stage = stage_with()
    stage.state.looks["one"], stage.state.baseline = Look("one", "One", {}), "one"
    after(ask.SetBaseline("ann", None), ask.DeleteLook("ann", "one"), stage=stage)
    assert why(stage, 1, "ann") == "There is no such look any more."


def test_what_somebody_held_who_has_left_is_in_nobodys_hand() -> None:
    stage = after(SET, ask.LetGo("mo", "spot"), ask.Leave("mo"))
    undo(stage, 2, "ann")
    undo(stage, 1, "ann")
    assert (stage.state.hand, stage.state.holders) == ({}, {})


def test_recall_master_order_settings_and_profiles_go_back() -> None:
    stage = stage_with()
    stage.state.looks["one"] = Look("one", "One", {"spot": {"Dimmer": 9}})
    order = stage.state.order
    after(
        ask.RecallLook("mo", "one", 0.0),
        ask.SetOrder("ann", ("spot",)),
        ask.ChangeSettings("ann", {"let_go_s": 3.0}),
        ask.RenameLook("ann", "one", "First"),
        stage=stage,
    )
    for change in (4, 3, 2, 1):
        undo(stage, change, "ann")
    assert (stage.state.recalled, stage.state.order, stage.state.settings.let_go_s) == ({}, order, 2.0)
    assert stage.state.looks["one"].name == "One"
