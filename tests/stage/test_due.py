"""What the clock alone brings about."""

import pytest

from server.stage import events
from server.stage.commands import AnswerDark, Arm, CallDark, GoAloft, LiftFlashes
from server.stage.due import due
from server.stage.stage import Stage
from tests.rigs import done, stage_with

__all__: list[str] = []


def passed(stage: Stage, now: float) -> list[events.Event]:
    happened = due(stage.state, now)
    stage.happen(happened)
    return happened


def test_nothing_is_due_in_a_quiet_show() -> None:
    assert due(stage_with().state, 1e9) == []


@pytest.mark.parametrize("now", [60.0, 1e6, -0.1])
def test_arming_ends_by_itself_also_when_the_clock_was_set_back(now: float) -> None:
    stage = stage_with()
    done(stage, Arm("ann", "fog", "test of the fog"))
    assert passed(stage, 59.9) == []
    assert passed(stage, now) == [events.Disarmed("", "fog")]
    assert passed(stage, now) == []


def test_faster_flashes_end_by_themselves() -> None:
    stage = stage_with()
    done(stage, LiftFlashes("ann", "head"))
    assert passed(stage, 29.9) == []
    assert passed(stage, 30.0) == [events.FlashLifted("", None)]


def test_dark_comes_five_seconds_after_the_call_when_nobody_is_aloft() -> None:
    stage = stage_with()
    done(stage, CallDark("ann"))
    assert passed(stage, 4.9) == []
    assert passed(stage, 5.0) == [events.BlackoutSet("ann", True), events.DarkEnded("ann")]
    assert stage.state.blackout


def test_dark_waits_as_long_as_it_takes_also_for_who_goes_up_meanwhile() -> None:
    stage = stage_with()
    done(stage, GoAloft("kit", "Bridge 1"))
    done(stage, CallDark("ann"))
    done(stage, AnswerDark("kit", True))
    done(stage, GoAloft("mo", "House"))
    assert passed(stage, 500.0) == []
    done(stage, AnswerDark("mo", True))
    assert passed(stage, 501.0)[0] == events.BlackoutSet("ann", True)


def test_a_call_that_was_refused_is_forgotten_after_a_while() -> None:
    stage = stage_with()
    done(stage, GoAloft("kit", "Bridge 1"))
    done(stage, CallDark("ann"))
    done(stage, AnswerDark("kit", False))
    assert passed(stage, 29.0) == []
    assert passed(stage, 30.0) == [events.DarkEnded("")]
    assert not stage.state.blackout
