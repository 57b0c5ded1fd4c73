"""The rules of a rig check: who goes where, what lights when, what a walk may touch, what is kept."""

import pytest

from server.stage import commands as ask
from server.stage import events
from server.stage.found import Photo
from server.stage.near import NEAR_LEVEL
from server.stage.stage import Stage
from tests.rigs import done, refused, stage_with, unit

__all__: list[str] = []

BARS = [
    unit(f"{bar}{n}", address=10 * at + n, position=bar, unit=str(n))
    for at, bar in enumerate("AB")
    for n in (1, 2)
]


def started(*more: ask.Command) -> Stage:
    stage = stage_with(*BARS)
    for command in (ask.StartCheck("mo", where="A"), *more):
        done(stage, command)
    return stage


def asked(stage: Stage) -> dict[str, int]:
    mode = stage.state.mode("head")
    assert mode is not None
    return stage.state.asked("head", mode)


def where(stage: Stage) -> dict[str, str | None]:
    return {person: check.fixture for person, check in stage.state.checking.items()}


def test_the_next_is_lit_before_the_last_is_let_go_and_the_last_one_of_all_stays_lit() -> None:
    stage = stage_with(*BARS)
    first = done(stage, ask.StartCheck("mo", where="A"))
    assert [type(e).__name__ for e in first] == ["RoundSet", "Taken", "LevelsSet", "CheckStepped"]
    assert stage.state.hand["A1"] == {"Dimmer": 128}
    after = done(stage, ask.StepCheck("mo"), 5.0)
    assert [type(e).__name__ for e in after] == ["Taken", "LevelsSet", "LetGone", "CheckStepped"]
    lit, gone = after[1], after[2]
    assert isinstance(lit, events.LevelsSet)
    assert isinstance(gone, events.LetGone)
    assert (lit.fixture, gone.fixture) == ("A2", "A1")
    assert gone.fade_s >= 2 * lit.fade_s  # while one comes up in full, the other has half its light
    done(stage, ask.Judge("mo", "A1", works=True))
    done(stage, ask.Judge("mo", "A2", works=True))
    done(stage, ask.StepCheck("mo"))
    assert stage.state.checking["mo"].ended
    assert stage.state.holders == {"A2": "mo"}
    done(stage, ask.StopCheck("mo"))
    assert (stage.state.holders, stage.state.checking) == ({}, {})
    assert done(stage, ask.StopCheck("mo")) == []
    assert "not in a rig check" in refused(stage, ask.StepCheck("mo")).why


def test_two_check_two_places_and_what_one_has_is_left_out_for_the_other() -> None:
    stage = started(ask.StartCheck("kit", where="B"), ask.StartCheck("ann", fixture="A1"))
    assert where(stage) == {"mo": "A1", "kit": "B1", "ann": "A2"}
    assert stage.state.checking["ann"].skipped == ("A1",)
    done(stage, ask.StepCheck("ann"))
    assert where(stage)["ann"] == "B2"
    assert refused(stage, ask.StepCheck("mo", back=True)).why == "This is the first one."


def test_what_was_in_hand_before_stays_in_hand() -> None:
    stage = stage_with(*BARS)
    done(stage, ask.SetValues("mo", "A1", {"Dimmer": 0.2}))
    for command in (ask.StartCheck("mo", where="A"), ask.StepCheck("mo")):
        done(stage, command)
    assert stage.state.holders == {"A1": "mo", "A2": "mo"}
    done(stage, ask.StepCheck("mo", back=True))
    assert stage.state.holders == {"A1": "mo"}


def test_somebody_goes_on_where_an_absent_phone_stopped() -> None:
    stage = started(ask.StepCheck("mo"))
    assert "Their phone is here" in refused(stage, ask.StartCheck("kit", of="mo")).why
    done(stage, ask.Withdraw("mo"), 100.0)
    done(stage, ask.StartCheck("kit", of="mo"), 131.0)
    assert where(stage) == {"kit": "A2"}
    assert stage.state.holders["A2"] == "kit"
    assert "not in a rig check any more" in refused(stage, ask.StartCheck("kit", of="mo"), 132.0).why


@pytest.mark.parametrize("level", [0.09, 1.1, float("nan")])
def test_the_lead_says_at_what_level_a_round_is_lit(level: float) -> None:
    stage = started()
    assert refused(stage, ask.SetCheckLevel("ann", level)).why.startswith("A rig check is lit")
    assert refused(stage, ask.BeginRound("mo", 0.5)).why == "Only the lead can do that."
    done(stage, ask.SetCheckLevel("ann", 0.25))
    done(stage, ask.StepCheck("mo"))
    assert stage.state.hand["A2"] == {"Dimmer": 64}


def test_a_new_round_begins_with_nothing_proved_and_the_old_one_stays() -> None:
    stage = started(ask.Judge("mo", "A1", works=True))
    done(stage, ask.BeginRound("ann", 0.3), 60.0)
    state = stage.state
    assert (state.round and state.round.number, state.judged) == (2, {})
    assert state.verdicts[1]["A1"].works
    done(stage, ask.Judge("mo", "A1", works=False, reason="flickers"), 61.0)
    assert (state.verdicts[1]["A1"].works, state.verdicts[2]["A1"].works) == (True, False)


def test_a_fault_is_written_down_with_reason_note_and_photo_and_undone_as_one() -> None:
    stage = started()
    stage.state.photos = {"p": Photo("A1", "mo", "Mo", 0, 9), "q": Photo("B1", "mo", "Mo", 0, 9)}
    judge = ask.Judge("mo", "A1", works=False, reason="flickers", note=" at  the top ", photo="p")
    done(stage, judge, 5.0)
    verdict = stage.state.judged["A1"]
    assert (verdict.works, verdict.reason, verdict.note, verdict.photo) == (
        False,
        "flickers",
        "at the top",
        "p",
    )
    assert stage.state.faults["A1"].words == "Flickers: at the top"
    number = max(stage.state.changes)
    assert "Checked" in str(stage.state.changes[number].what)
    done(stage, ask.Undo("mo", number))
    assert ("A1" in stage.state.judged, "A1" in stage.state.faults) == (False, False)
    done(stage, ask.Undo("mo", number))
    assert stage.state.judged["A1"] == verdict
    for wrong in (
        ask.Judge("mo", "A1", works=False),
        ask.Judge("mo", "A1", works=False, reason="odd"),
        ask.Judge("mo", "A1", works=False, note="n" * 201),
        ask.Judge("mo", "A1", works=True, photo="q"),
        ask.Judge("mo", "nobody", works=True),
    ):
        refused(stage, wrong)


def test_house_staff_check_house_fixtures_and_nothing_else() -> None:
    stage = stage_with(unit("h", address=1, house=True), unit("s", address=2))
    done(stage, ask.StartCheck("hal"))
    assert where(stage) == {"hal": "h"}
    done(stage, ask.Judge("hal", "h", works=True))
    assert "House staff" in refused(stage, ask.Judge("hal", "s", works=True)).why
    assert "nothing left" in refused(stage, ask.StartCheck("hal")).why


def test_a_walk_tries_one_thing_a_second_softly_and_leaves_all_as_it_was() -> None:
    stage = stage_with(unit("head", "head", 11, position="Bridge 1"))
    done(stage, ask.StartCheck("mo"))
    before = asked(stage)
    now, strides = 10.0, range(6)
    for stride in strides:
        for event in done(stage, ask.WalkCheck("mo", stride), now):
            if isinstance(event, events.LevelsSet):
                assert event.fade_s >= (2.0 if event.raws.keys() & {"Pan", "Tilt"} else 0.5)
        if stride < max(strides):
            assert "wait a second" in refused(stage, ask.WalkCheck("mo", 0), now + 0.9).why
        now += 1.2
    assert asked(stage) == before
    done(stage, ask.WalkCheck("mo", 1), now)
    assert stage.state.hand["head"]["Pan"] != 32768
    done(stage, ask.WalkCheck("mo", None), now + 2)
    assert asked(stage) == before
    assert "nothing more" in refused(stage, ask.WalkCheck("mo", 9), now + 9).why


def test_nothing_swings_where_somebody_is_aloft_or_has_hands_on_and_light_is_dimmed_there() -> None:
    stage = stage_with(unit("head", "head", 11, position="Bridge 1"))
    done(stage, ask.BeginRound("ann", 1.0))
    done(stage, ask.GoAloft("kit", "Bridge 1"))
    happened = done(stage, ask.StartCheck("mo"))
    assert not [e for e in happened if isinstance(e, events.StillSet)]
    assert stage.state.hand["head"]["Dimmer"] == round(NEAR_LEVEL * 65535 + 0.001)
    for stride in range(2):
        done(stage, ask.WalkCheck("mo", stride), 5.0 + 2 * stride)
    assert not {"Pan", "Tilt"} & stage.state.hand["head"].keys()
    assert "nothing more" in refused(stage, ask.WalkCheck("mo", 2), 20.0).why


def test_who_leaves_or_is_removed_is_in_no_rig_check() -> None:
    stage = started(ask.StartCheck("kit", where="B"))
    done(stage, ask.Leave("mo"))
    done(stage, ask.RemovePerson("ann", "kit"))
    assert stage.state.checking == {}


def test_a_unit_that_leaves_the_rig_is_passed_over() -> None:
    stage = started(ask.Judge("mo", "A1", works=True))
    done(stage, ask.LetGo("ann", "*", of="mo"))
    done(stage, ask.ChangePatch("ann", remove=("A1",)))
    assert stage.state.checking["mo"].fixture is None
    done(stage, ask.StepCheck("mo"))
    assert where(stage) == {"mo": "A2"}
    assert stage.state.judged["A1"].unit == "1"  # what was seen stays readable
