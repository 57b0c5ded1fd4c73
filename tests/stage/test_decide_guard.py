"""Guarded units, timed actions, and flashing faster than the rest."""

import pytest

from server.rig.profile import Action
from server.stage import events
from server.stage.commands import Act, Arm, Command, GoAloft, HandsOn, LiftFlashes, RunGuarded
from server.stage.decide import decide
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.stage import Stage
from tests.rigs import control, done, function, mode, profile, refused, stage_with, unit

__all__: list[str] = []

FULL = {"Fog1": 1.0}


def armed() -> Stage:
    stage = stage_with()
    done(stage, Arm("ann", "fog", "test of the fog"))
    return stage


def ask(stage: Stage, command: Command, now: float) -> list[Event]:
    return done(stage, command, now)


def held(person: str = "mo", press: int = 1, on: bool = True) -> RunGuarded:
    return RunGuarded(person, "fog", FULL, press, on)


def test_only_the_lead_arms_with_a_reason_and_for_a_time() -> None:
    stage = stage_with()
    assert refused(stage, Arm("mo", "fog", "fun")).why == "Only the lead can do that."
    assert refused(stage, Arm("ann", "fog", " ")).why == "Say in 1 to 100 characters what it is armed for."
    assert refused(stage, Arm("ann", "fog", "test", 601)).why == "A unit is armed for 1 to 600 seconds."
    assert refused(stage, Arm("ann", "fog", "test", float("nan"))).why.startswith("A unit is armed for")
    assert refused(stage, Arm("ann", "spot", "test")).why == "1 has nothing that is guarded."
    assert refused(stage, Arm("ann", "nobody", "test")).fixture == "nobody"
    (armed,) = done(stage, Arm("ann", "fog", " test  of fog ", 90))
    assert armed == events.ArmedSet("ann", "fog", "test of fog", 0, 90)
    assert done(stage, Arm("ann", "fog", None)) == [events.Disarmed("ann", "fog")]
    assert done(stage, Arm("ann", "fog", None)) == []


def test_what_is_not_armed_does_not_run() -> None:
    assert refused(stage_with(), held()).why == "41 is guarded and not armed. Ask the lead to arm it."
    answer = armed().ask(held(), 60.0)
    assert isinstance(answer, Refused)
    assert "not armed" in answer.why


def test_it_runs_for_as_long_as_it_is_held_and_asked_again() -> None:
    stage = armed()
    assert ask(stage, held(), 10.0) == [events.Ran("mo", "fog", {"Fog1": 255}, 1, 10.0, 10.0, 1.0)]
    assert ask(stage, held(), 10.4) == [events.Ran("mo", "fog", {"Fog1": 255}, 1, 10.0, 10.4, 1.0)]
    assert ask(stage, held(on=False), 10.6) == [events.Ran("mo", "fog", {"Fog1": 255}, 1, 10.6, 10.6, 0.0)]
    assert ask(stage, held(on=False), 10.7) == []


def test_it_stops_by_itself_after_ten_seconds_until_it_is_pressed_again() -> None:
    stage = armed()
    for tenth in range(0, 99, 4):
        (ran,) = ask(stage, held(), tenth / 10)
        assert isinstance(ran, events.Ran)
        assert ran.at + ran.for_s <= 10.0
    answer = stage.ask(held(), 10.0)
    assert isinstance(answer, Refused)
    assert answer.why == "41 has stopped by itself. Let go, then press again."
    ask(stage, held(press=2), 10.4)


def test_a_press_that_was_not_heard_for_a_while_is_over() -> None:
    stage = armed()
    ask(stage, held(), 0.0)
    assert isinstance(stage.ask(held(), 1.5), Refused)


def test_it_ends_with_the_arming() -> None:
    stage = armed()
    (ran,) = ask(stage, held(), 59.7)
    assert isinstance(ran, events.Ran)
    assert ran.for_s == pytest.approx(0.3)


def test_one_runs_it_at_a_time_and_nobody_with_hands_on_it() -> None:
    stage = armed()
    ask(stage, held(), 0.0)
    answer = stage.ask(held("kit"), 0.5)
    assert isinstance(answer, Refused)
    assert answer.why == "Mo is running 41."
    done(stage, HandsOn("kit", "fog", on=True))
    assert refused(stage, held(press=3)).why == "Hands are on 41: it does not run meanwhile."
    assert refused(stage, Arm("ann", "fog", "again")).why == "Hands are on 41: it is not armed meanwhile."


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (RunGuarded("hal", "fog", FULL, 1, True), "Only the lead or the crew can do that."),
        (RunGuarded("mo", "fog", {}, 1, True), "Nothing was asked of the fixture."),
        (RunGuarded("mo", "fog", {"Fog1": 2}, 1, True), "Fog1: 2 is not between 0 and 1."),
        (RunGuarded("mo", "fog", {"Pan": 1}, 1, True), "41 has no guarded control of that name."),
        (
            RunGuarded("mo", "head", {"Pan": 1}, 1, True),
            "21 (Bridge 1 unit 3) has no guarded control of that name.",
        ),
        (RunGuarded("mo", "nobody", FULL, 1, True), "There is no such fixture any more."),
    ],
)
def test_what_cannot_be_run_is_refused(command: Command, why: str) -> None:
    assert refused(armed(), command).why == why


def test_running_is_no_way_to_an_action() -> None:
    deed = function("LampControl", 200, 255, name="Lamp off", action=Action("lamp_off", 1, 0, "Out."))
    lamp = profile("p", mode("m", control("Control1", 1, functions=(function("NoFeature", 0, 199), deed))))
    stage = stage_with(unit("a", "p", mode="m", guarded=True))
    stage.state.profiles["p"] = lamp
    done(stage, Arm("ann", "a", "test"))
    assert (
        refused(stage, RunGuarded("mo", "a", {"Control1": 1}, 1, True)).why == "Control1 is not run that way."
    )


def lamp_rig() -> Stage:
    deeds = (
        function("NoFeature", 0, 9),
        function("Reset", 10, 19, name="Recalibrate", action=Action("reset", 3, 0, "It moves.", busy_s=40)),
        function("LampControl", 20, 29, name="Strike", action=Action("lamp_on", 2, 0, "It strikes.")),
        function("LampControl", 30, 39, name="Douse", action=Action("lamp_off", 5, 0, "Out.", lockout_s=360)),
    )
    stage = stage_with(*(unit(name, "p", at, mode="m", channel=at) for at, name in enumerate("ab", 1)))
    stage.state.profiles["p"] = profile("p", mode("m", control("Control1", 1, functions=deeds)))
    for name in "ab":
        done(stage, Arm("ann", name, "lamps", 600))
    return stage


def act(fixture: str, what: str) -> Act:
    return Act("mo", fixture, "Control1", what, held=True)


def why(stage: Stage, command: Command, now: float) -> str:
    answer = decide(stage.state, command, now, stage.rules)
    assert isinstance(answer, Refused)
    return answer.why


def test_a_lamp_is_struck_and_doused_only_while_armed() -> None:
    stage = lamp_rig()
    done(stage, Arm("ann", "a", None))
    assert why(stage, act("a", "Strike"), 0) == "1 is guarded and not armed. Ask the lead to arm it."
    assert why(stage, act("a", "Douse"), 0) == "1 is guarded and not armed. Ask the lead to arm it."
    ask(stage, act("a", "Recalibrate"), 0)


def test_a_doused_lamp_has_to_cool_first() -> None:
    stage = lamp_rig()
    ask(stage, act("a", "Douse"), 0)
    assert why(stage, act("a", "Strike"), 65.0) == (
        "The lamp of 1 has to cool: it may strike again in about 5 min (an estimate)."
    )
    ask(stage, act("a", "Strike"), 365.0)


def test_lamps_strike_one_after_the_other() -> None:
    stage = lamp_rig()
    ask(stage, act("a", "Strike"), 0)
    assert why(stage, act("b", "Strike"), 4.0).startswith("Another lamp struck just now")
    ask(stage, act("b", "Strike"), 5.0)


def test_a_unit_that_recalibrates_is_busy() -> None:
    stage = lamp_rig()
    ask(stage, act("a", "Recalibrate"), 0)
    assert why(stage, act("a", "Recalibrate"), 42.5) == "1 is busy with that for about 1 s more."
    ask(stage, act("a", "Recalibrate"), 43.0)


def test_nothing_recalibrates_beside_hands_or_somebody_aloft() -> None:
    stage = stage_with()
    recalibrate = Act("ann", "head", "Control1", "Recalibrate", held=True)
    done(stage, GoAloft("kit", "Bridge 1"))
    assert refused(stage, recalibrate).why == (
        "Somebody is aloft at Bridge 1 (Kit): Recalibrate waits until they are down."
    )
    done(stage, HandsOn("kit", "head", on=True))
    assert refused(stage, recalibrate).why.startswith("Hands are on 21")


def test_the_lead_lifts_the_flash_limit_for_one_fixture() -> None:
    stage = stage_with()
    assert refused(stage, LiftFlashes("mo", "head")).why == "Only the lead can do that."
    assert refused(stage, LiftFlashes("ann", "nobody")).fixture == "nobody"
    assert done(stage, LiftFlashes("ann", None)) == []
    assert done(stage, LiftFlashes("ann", "head")) == [events.FlashLifted("ann", "head", 0, 30.0)]
    done(stage, LiftFlashes("ann", "wash"))
    assert stage.state.lifted is not None
    assert stage.state.lifted.fixture == "wash"
    done(stage, LiftFlashes("ann", None))
    assert stage.state.lifted is None
