"""What is written down of what people do: one change for a command, one for a drag."""

from server.rig.said import Said
from server.stage import commands as ask
from server.stage import events
from server.stage.commands import Command
from server.stage.noting import MERGE_S
from server.stage.stage import Stage
from server.stage.state import Look
from tests.rigs import done, stage_with, unit

__all__: list[str] = []


def drag(level: float, person: str = "mo", fixture: str = "spot") -> ask.SetValues:
    return ask.SetValues(person, fixture, {"Dimmer": level})


def notes(stage: Stage) -> list[str]:
    return [Said.of(change.what) for change in stage.state.changes.values()]


def test_a_drag_is_one_change_and_says_in_the_end_where_it_came_to() -> None:
    stage = stage_with()
    for step in range(30):
        answer = stage.ask(drag(step / 100), step / 30)
        assert isinstance(answer, list)
        assert [type(e) for e in answer if isinstance(e, events.Changed)] == [events.Changed] * (step == 0)
    assert notes(stage) == ["Set Dimmer 0 %."]
    assert stage.by_the_clock(1.0 + MERGE_S - 0.1) == []
    (ended,) = stage.by_the_clock(1.0 + MERGE_S + 0.1)
    assert ended == events.ChangeEnded("mo", 1, ["Set {values}.", {"values": "Dimmer 29 %"}])
    assert notes(stage) == ["Set Dimmer 29 %."]
    assert stage.state.changes[1].before is not None
    assert stage.state.changes[1].before.hand == {"spot": {"Dimmer": None}}


def test_another_control_a_pause_another_fixture_or_another_person_begin_another_change() -> None:
    stage = stage_with()
    done(stage, drag(0.1), 0.0)
    done(stage, drag(0.2), MERGE_S)
    assert len(notes(stage)) == 1
    done(stage, drag(0.3), 2 * MERGE_S + 0.1)
    assert len(notes(stage)) == 2
    done(stage, ask.SetValues("mo", "head", {"Pan": 0.3}), 2 * MERGE_S + 0.2)
    done(stage, ask.SetValues("mo", "head", {"Tilt": 0.3}), 2 * MERGE_S + 0.3)
    assert len(notes(stage)) == 4
    done(stage, drag(0.4), 2 * MERGE_S + 0.4)
    assert notes(stage)[:2] == ["Set Dimmer 20 %.", "Set Dimmer 30 %."]
    assert len(notes(stage)) == 5
    done(stage, drag(0.4, "kit", "batten"), 2 * MERGE_S + 0.4)
    done(stage, drag(0.5), 2 * MERGE_S + 0.5)
    assert len(notes(stage)) == 6


def test_what_somebody_else_did_to_it_in_between_comes_in_between() -> None:
    stage = stage_with()
    done(stage, drag(0.1), 0.0)
    done(stage, ask.Undo("ann", 1, over=True), 0.1)
    done(stage, drag(0.2), 0.2)
    assert len(notes(stage)) == 2


def test_what_changes_nothing_is_no_change() -> None:
    stage = stage_with()
    done(stage, ask.SetMaster("mo", 1.0))
    done(stage, ask.SetBlackout("mo", False))
    done(stage, ask.Arrive("mo"))
    done(stage, ask.Withdraw("mo"))
    assert notes(stage) == []
    assert stage.state.changed == 0


def test_a_unit_that_is_run_is_noted_once_for_each_press() -> None:
    stage = stage_with()
    done(stage, ask.Arm("ann", "fog", "test"))
    for press in (1, 2):
        for tenth in range(0, 9, 4):
            done(stage, ask.RunGuarded("mo", "fog", {"Fog1": 1.0}, press, True), press + tenth / 10)
        done(stage, ask.RunGuarded("mo", "fog", {"Fog1": 1.0}, press, False), press + 0.95)
    assert notes(stage) == ["Armed it: test.", "Ran it.", "Ran it."]


def test_who_comes_and_goes_is_noted_under_their_name() -> None:
    stage = stage_with()
    done(stage, ask.Leave("kit"))
    assert [(c.name, c.person) for c in stage.state.changes.values()] == [("Kit", "kit")]


def test_too_much_at_once_is_noted_and_not_undone() -> None:
    stage = stage_with()
    values = {f"Dimmer/{n}": 1 for n in range(50)}
    stage.state.looks = {str(n): Look(str(n), "x", {"spot": values}) for n in range(6000)}
    done(stage, ask.ChangePatch("ann", put=(unit("spot", channel=1, mode="two", address=100),)))
    assert stage.state.changes[1].before is None


def test_a_blackout_that_was_called_is_noted_when_it_comes() -> None:
    stage = stage_with()
    done(stage, ask.CallDark("ann"), 0.0)
    stage.by_the_clock(5.0)
    assert notes(stage) == ["Called dark.", "Blackout, as called."]
    assert stage.state.changes[2].person == "ann"


def test_only_drags_go_on() -> None:
    stage, asked = stage_with(), list[Command]()
    asked += [ask.LightUp("mo", "spot"), drag(0.5)]
    for command in asked:
        done(stage, command, 0.0)
    assert notes(stage) == ["Lit it up.", "Set Dimmer 50 %."]
