"""The clock is set while something counts by it."""

import pytest

from server.stage import events
from server.stage.commands import Act, AnswerDark, Arm, CallDark, GoAloft, LiftFlashes, RunGuarded, Withdraw
from server.stage.commands_shout import SendShout
from server.stage.due import due
from server.stage.holds import AWAY_S, in_other_hands
from server.stage.stage import Stage
from tests.rigs import done, refused, stage_with

__all__: list[str] = []


def set_clock(stage: Stage, by_s: float) -> None:
    stage.happen([events.ClockSet("", by_s)])


def armed(stage: Stage, now: float) -> bool:
    stage.happen(due(stage.state, now))
    return "fog" in stage.state.armed


def lifted(stage: Stage, now: float) -> bool:
    stage.happen(due(stage.state, now))
    return stage.state.lifted is not None


@pytest.mark.parametrize("by_s", [-3600.0, -30.0, -1.0])
def test_a_clock_set_back_lets_nothing_stay_armed_or_lifted_for_longer(by_s: float) -> None:
    stage = stage_with()
    done(stage, Arm("ann", "fog", "test of the fog", 60.0))
    done(stage, LiftFlashes("ann", "head"))
    set_clock(stage, by_s)
    assert lifted(stage, 29.9 + by_s)
    assert not lifted(stage, 30.0 + by_s)
    assert armed(stage, 59.9 + by_s)
    assert not armed(stage, 60.0 + by_s)


@pytest.mark.parametrize("by_s", [3600.0, 60.0])
def test_a_clock_set_on_and_a_laptop_that_slept_end_what_was_armed(by_s: float) -> None:
    stage = stage_with()
    done(stage, Arm("ann", "fog", "test of the fog", 60.0))
    set_clock(stage, by_s)
    assert not armed(stage, by_s + 0.1)


def test_a_button_held_on_across_a_clock_set_back_stops_after_as_long() -> None:
    stage, now = stage_with(), 0.0
    done(stage, Arm("ann", "fog", "test of the fog", 60.0))
    run = RunGuarded("ann", "fog", {"Fog1": 1.0}, 1, True)
    while now < 9.8:
        done(stage, run, now)
        now += 0.5
    set_clock(stage, -20.0)
    assert "stopped by itself" in refused(stage, run, 10.1 - 20.0).why


@pytest.mark.parametrize("by_s", [3600.0, -3600.0])
def test_dark_is_counted_down_in_full_or_called_again(by_s: float) -> None:
    stage = stage_with()
    done(stage, GoAloft("kit", "Bridge 1"))
    done(stage, CallDark("ann"))
    done(stage, AnswerDark("kit", True))
    set_clock(stage, by_s)
    stage.happen(due(stage.state, 4.9 + by_s))
    assert not stage.state.blackout
    stage.happen(due(stage.state, 5.1 + by_s))
    assert stage.state.blackout is (by_s < 0)
    assert stage.state.dark is None


@pytest.mark.parametrize("by_s", [3600.0, -3600.0, 3.0])
def test_what_one_waits_for_is_waited_for_as_long(by_s: float) -> None:
    stage = stage_with()
    done(stage, Act("ann", "head", "Control1", "Recalibrate", held=True))
    set_clock(stage, by_s)
    why = refused(stage, Act("ann", "head", "Control1", "Recalibrate", held=True), 1.0 + by_s)
    assert "is busy with that" in why.why


@pytest.mark.parametrize("by_s", [3600.0, -3600.0])
def test_who_is_away_keeps_their_light_as_long_and_calls_stay_as_old(by_s: float) -> None:
    stage = stage_with()
    done(stage, SendShout("kit", "stop", None))
    stage.happen([events.Taken("kit", "dim")])
    done(stage, Withdraw("kit"))
    set_clock(stage, by_s)
    stage.happen(due(stage.state, 1.0 + by_s))
    assert stage.state.shouts
    assert in_other_hands(stage.state, "ann", "dim", AWAY_S - 0.1 + by_s) == "kit"
    assert in_other_hands(stage.state, "ann", "dim", AWAY_S + by_s) is None
