"""The focus call: next, back, marks, whose turn it is, and what a beam is to do."""

import pytest

from server.stage import events
from server.stage.commands import (
    ChangeCall,
    Command,
    FocusAt,
    FocusNext,
    GiveFocus,
    GoAloft,
    HandsOn,
    LetGo,
    MarkFocus,
    RemovePerson,
    SetOrder,
    SetValues,
    TagOut,
    Take,
    Undo,
    WriteNote,
)
from server.stage.decide_focus import is_call, is_focus
from server.stage.focus import Call, Focus, FocusNote
from server.stage.stage import Stage
from tests.rigs import done, refused, stage_with, unit

__all__: list[str] = []

NOBODY = "Nobody of the lead or the crew has that name."
LINE = tuple(unit(f"u{n}", address=n, channel=n, position="1E", unit=str(n)) for n in range(1, 6))


def line(*more: str) -> Stage:
    """Five units on one bar, in the order in which they hang; more: only these are on the list."""
    stage = stage_with(*LINE)
    if more:
        done(stage, SetOrder("ann", more))
    return stage


def test_next_comes_up_at_the_calls_level_before_the_last_one_goes_down() -> None:
    stage = line()
    assert done(stage, FocusNext("mo")) == [
        events.Taken("mo", "u1"),
        events.LevelsSet("mo", "u1", {"Dimmer": 128}, 0.7),
        events.NowSet("mo", "mo", "u1"),
    ]
    assert done(stage, FocusNext("mo", mark="done"), 9.0) == [
        events.FocusSet("mo", "u1", Focus(None, "done", "Mo", 9.0, FocusNote(), {"Dimmer": 128})),
        events.Taken("mo", "u2"),
        events.LevelsSet("mo", "u2", {"Dimmer": 128}, 0.7),
        events.NowSet("mo", "mo", "u2"),
        events.LetGone("mo", "u1", 2.0, 0.7),
    ]
    assert stage.state.now == {"mo": "u2"}
    assert stage.state.holders == {"u2": "mo"}


def test_one_press_more_on_another_phone_passes_nothing_over() -> None:
    stage = line()
    done(stage, FocusNext("mo"))
    done(stage, FocusNext("mo", after="u1"))
    assert done(stage, FocusNext("ann", of="mo", after="u1")) == []
    assert stage.state.now == {"mo": "u2"}


def test_what_is_done_is_passed_over_and_what_is_to_come_back_to_comes_last() -> None:
    stage = line("u1", "u2", "u3", "u4")
    done(stage, MarkFocus("kit", "u2", "done"))
    done(stage, MarkFocus("kit", "u1", "back"))
    seen = []
    for _ in range(3):
        done(stage, FocusNext("mo", mark="done"))
        seen.append(stage.state.now["mo"])
    assert seen == ["u3", "u4", "u1"]
    last = done(stage, FocusNext("mo", mark="done"), 4.0)
    assert [type(event) for event in last] == [events.FocusSet]  # its light stays: nothing follows
    assert stage.state.holders == {"u1": "mo"}
    assert refused(stage, FocusNext("mo", mark="done")).why == "Nothing on the focus list is left to do."


def test_who_skips_comes_round_again() -> None:
    stage = line("u1", "u2")
    for at in ("u1", "u2", "u1"):
        done(stage, FocusNext("mo"))
        assert stage.state.now["mo"] == at


def test_several_crews_leapfrog_and_none_comes_to_the_units_of_another() -> None:
    stage = line()
    done(stage, GiveFocus("ann", ("u1", "u4"), "kit"))
    for person, at in (("mo", "u2"), ("kit", "u1"), ("mo", "u3"), ("kit", "u4"), ("mo", "u5")):
        done(stage, FocusNext(person, mark="done"))
        assert stage.state.now[person] == at
    assert stage.state.holders == {"u5": "mo", "u4": "kit"}


def test_the_lead_presses_for_the_ladder_and_the_ladder_holds_the_light() -> None:
    stage = line()
    done(stage, FocusNext("ann", of="mo"))
    done(stage, FocusNext("ann", of="mo"))
    assert stage.state.holders == {"u2": "mo"}
    assert stage.state.now == {"mo": "u2"}
    assert refused(stage, FocusNext("kit", of="mo")).why == "Only the lead can do that."
    assert refused(stage, FocusNext("hal")).why == "Only the lead or the crew can do that."
    for nobody in ("hal", "zed"):
        assert refused(stage, FocusNext("ann", of=nobody)).why == NOBODY
    assert refused(stage, FocusNext("mo", mark="gone")).why == "There is no mark called gone."


def test_what_the_lead_took_meanwhile_goes_on_with_next_and_what_others_took_stays_theirs() -> None:
    stage = line()
    done(stage, FocusNext("mo"))
    done(stage, Take("ann", "u1", over=True))
    done(stage, FocusNext("ann", of="mo"))
    assert stage.state.holders == {"u2": "mo"}
    done(stage, Take("kit", "u2", over=True))
    done(stage, FocusNext("mo"))
    assert stage.state.holders == {"u2": "kit", "u3": "mo"}
    done(stage, Take("kit", "u4"))
    asked = refused(stage, FocusNext("mo"))
    assert (asked.ask, asked.holder, asked.fixture) == ("take", "kit", "u4")
    done(stage, FocusNext("mo", over=True))
    assert stage.state.holders == {"u2": "kit", "u4": "mo"}


def test_what_gives_no_light_is_passed_over() -> None:
    lineup = (unit("lost", address=None), unit("work", address=2, work_light=True), *LINE[2:4])
    stage = stage_with(*lineup, unit("fog", "fogger", 41), unit("pump", address=42, guarded=True))
    done(stage, TagOut("mo", "u3", "lamp"))
    done(stage, FocusNext("mo"))
    assert stage.state.now == {"mo": "u4"}
    assert refused(stage, FocusNext("mo")).why == "Nothing on the focus list is left to do."
    done(stage, FocusNext("ann"))
    assert stage.state.now["ann"] == "work"  # the lead drives that


def test_a_named_unit_comes_up_and_none_lets_go() -> None:
    stage = line("u1", "u2", "u3")
    done(stage, FocusAt("mo", "u3"))
    assert stage.state.now == {"mo": "u3"}
    assert refused(stage, FocusAt("mo", "u5")).why == "5 (1E unit 5) is not on the focus list."
    assert refused(stage, FocusAt("mo", "nobody")).why == "There is no such fixture any more."
    assert done(stage, FocusAt("mo", None, mark="back"), 3.0) == [
        events.FocusSet("mo", "u3", Focus(None, "back", "Mo", 3.0)),
        events.NowSet("mo", "mo", None),
        events.LetGone("mo", "u3", 2.0, 0.0),
    ]
    assert done(stage, FocusAt("mo", None)) == []


def test_a_unit_without_an_address_never_takes_the_last_light_away() -> None:
    stage = stage_with(unit("lost", address=None, position="Boom", unit="2"), *LINE)
    assert "is not patched: no light would come" in refused(stage, FocusAt("mo", "lost")).why


def test_next_moves_nothing_whoever_is_aloft_or_has_hands_on() -> None:
    stage = stage_with(*(unit(f"head{n}", "head", 20 * n, position="1E") for n in (1, 2)))
    done(stage, GoAloft("mo", "1E"))
    done(stage, HandsOn("mo", "head2", on=True))
    for _ in range(2):
        levels = [e for e in done(stage, FocusNext("mo")) if isinstance(e, events.LevelsSet)]
        assert levels[0].raws == {"Dimmer": 32768, "Shutter1": 100, "Gobo1": 0}
        assert levels[0].fade_s == 0.7
    assert stage.state.still.keys() == {"head1", "head2"}


def test_what_is_done_in_a_hand_is_kept_as_it_is_and_stays_kept() -> None:
    stage = stage_with(unit("head", "head", 11, position="1E"))
    done(stage, FocusNext("mo"))
    done(stage, SetValues("mo", "head", {"Pan": {"raw": 40000}, "Shutter1": {"raw": 70}}))
    done(stage, MarkFocus("mo", "head", "done"), 5.0)
    kept = stage.state.focus["head"]
    assert (kept.mark, kept.name, kept.at) == ("done", "Mo", 5.0)
    assert kept.values == {
        "Dimmer": 32768,
        "Pan": 40000,
        "Tilt": 32768,
        "Shutter1": 70,
        "Gobo1": 0,
        "Control1": 0,
    }
    done(stage, LetGo("mo", "head"))
    done(stage, MarkFocus("ann", "head", "back"))
    done(stage, MarkFocus("ann", "head", "done"))
    assert stage.state.focus["head"].values == kept.values  # in nobody's hand, it is not how it was focused
    assert refused(stage, MarkFocus("hal", "head", "done")).why == "Only the lead or the crew can do that."
    assert refused(stage, MarkFocus("mo", "head", "lost")).why == "There is no mark called lost."
    assert refused(stage, MarkFocus("mo", "nobody", "done")).why == "There is no such fixture any more."


def test_what_is_beside_is_on_in_nobodys_hand_and_goes_with_the_step() -> None:
    stage = line()
    done(stage, ChangeCall("ann", {"beside": "position", "beside_level": 0.2, "fade_s": 3.0}))
    done(stage, Take("kit", "u4"))
    done(stage, FocusAt("mo", "u3"))
    assert stage.state.beside == {"u2": {"Dimmer": 51}}  # u4 is in somebody's hand
    assert stage.state.holders == {"u3": "mo", "u4": "kit"}
    mode = stage.state.mode("u2")
    assert mode is not None
    assert stage.state.asked("u2", mode) == {"Dimmer": 51}
    happened = done(stage, FocusAt("mo", "u1"))
    assert events.BesideSet("mo", {"u3": None, "u2": None}, 0.7, 3.0, 0.7) not in happened
    assert stage.state.beside == {"u2": {"Dimmer": 51}}
    assert done(stage, FocusAt("mo", None))[1] == events.BesideSet("mo", {"u2": None}, 0.7, 3.0, 0.0)
    assert stage.state.beside == {}


def test_those_of_the_same_purpose_are_on_but_no_work_light_and_at_most_half_beside_somebody() -> None:
    some = [unit(f"p{n}", address=n, purpose="Front warm", position=f"Bar {n}", unit="1") for n in (1, 2, 3)]
    stage = stage_with(
        *some, unit("w", address=9, purpose="front WARM", work_light=True), unit("x", address=8)
    )
    done(stage, ChangeCall("ann", {"beside": "purpose", "beside_level": 0.8}))
    done(stage, GoAloft("kit", "Bar 3"))
    done(stage, FocusAt("mo", "p1"))
    assert stage.state.beside == {"p2": {"Dimmer": 204}, "p3": {"Dimmer": 128}}
    done(stage, RemovePerson("ann", "mo"))
    assert (stage.state.beside, stage.state.now) == ({}, {})


def test_who_leaves_has_nothing_given_any_more() -> None:
    stage = line()
    done(stage, GiveFocus("ann", ("u1", "u2"), "mo"))
    assert done(stage, GiveFocus("ann", ("u1",), "mo")) == []
    assert refused(stage, GiveFocus("mo", ("u1",), "mo")).why == "Only the lead can do that."
    assert (
        refused(stage, GiveFocus("ann", ("u1",), "hal")).why
        == "Nobody of the lead or the crew has that name."
    )
    assert refused(stage, GiveFocus("ann", ("u9",), None)).why == "There is no such fixture any more."
    done(stage, RemovePerson("ann", "mo"))
    assert {focus.given for focus in stage.state.focus.values()} == {None}


def test_a_note_is_written_field_by_field_and_undone() -> None:
    stage = line()
    done(stage, WriteNote("ann", "u1", {"spot": " to  my head ", "edge": "soft"}))
    done(stage, WriteNote("mo", "u1", {"top": "off the border"}))
    assert stage.state.focus["u1"].note == FocusNote(spot="to my head", edge="soft", top="off the border")
    assert done(stage, WriteNote("mo", "u1", {"edge": "soft"})) == []
    done(stage, Undo("mo", 2))
    assert stage.state.focus["u1"].note == FocusNote(spot="to my head", edge="soft")
    assert refused(stage, WriteNote("mo", "u1", {"wax": "x"})).why == "A focus note has no place for wax."
    assert (
        refused(stage, WriteNote("mo", "u1", {"spot": "x" * 61})).why == "Say that in 60 characters at most."
    )
    assert (
        refused(stage, WriteNote("mo", "u1", {"words": "x" * 201})).why
        == "Say that in 200 characters at most."
    )
    assert refused(stage, WriteNote("mo", "u9", {})).why == "There is no such fixture any more."
    assert refused(stage, WriteNote("hal", "u1", {})).why == "Only the lead or the crew can do that."
    done(stage, WriteNote("mo", "u1", {"words": "x" * 200}))


@pytest.mark.parametrize(
    "changes",
    [
        {"level": 0.0},
        {"level": 1.1},
        {"beside_level": float("nan")},
        {"fade_s": -1.0},
        {"fade_s": 61.0},
        {"beside": "x"},
    ],
)
def test_settings_of_the_call_have_their_ranges(changes: dict[str, object]) -> None:
    why = "Levels go from 1 % to 100 %, the time to go down from 0 to 60 seconds."
    assert refused(line(), ChangeCall("ann", changes)).why.replace("60.0", "60") == why


def test_settings_of_the_call_are_the_leads_and_undone() -> None:
    stage = line()
    assert refused(stage, ChangeCall("mo", {"level": 0.3})).why == "Only the lead can do that."
    assert refused(stage, ChangeCall("ann", {"colour": 1})).why == "There is no setting called colour."
    done(stage, ChangeCall("ann", {"level": 1.0, "beside": "purpose"}))
    assert stage.state.call == Call(level=1.0, beside="purpose")
    done(stage, Undo("ann", 1))
    assert stage.state.call == Call()
    assert is_call(Call())


def test_marks_and_gifts_are_undone_and_steps_are_not() -> None:
    stage = line()
    asked: tuple[Command, ...] = (GiveFocus("ann", ("u1",), "mo"), MarkFocus("mo", "u2", "done"))
    for command in asked:
        done(stage, command)
    done(stage, Undo("mo", 2))
    done(stage, Undo("ann", 1))
    assert stage.state.focus == {}
    done(stage, FocusNext("mo"))
    assert refused(stage, Undo("mo", stage.state.changed)).why.endswith("That cannot be undone.")


def test_a_note_that_is_too_long_is_none_of_ours() -> None:
    assert is_focus(Focus())
    assert not is_focus(Focus(mark="x"))
    assert not is_focus(Focus(note=FocusNote(edge="x" * 61)))
