"""Coming, going, roles, the master and blackout."""

import math

import pytest

from server.stage import events
from server.stage.commands import (
    Arrive,
    Command,
    Leave,
    SetBlackout,
    SetMaster,
    SetValues,
    Take,
    Withdraw,
)
from server.stage.decide import Rules, allow, decide
from tests.rigs import PEOPLE, done, refused, stage_with, state_with

__all__: list[str] = []


def test_a_command_nobody_has_written_a_rule_for_is_our_own_mistake() -> None:
    with pytest.raises(TypeError, match="no rule for Command"):
        decide(state_with(), Command("ann"), 0, Rules())


@pytest.mark.parametrize(
    "command",
    [
        Arrive("eve"),
        Withdraw("eve"),
        Leave("eve"),
        Take("eve", "spot"),
        SetMaster("eve", 0.5),
        SetValues("eve", "spot", {"Dimmer": 1}),
    ],
)
def test_whoever_has_not_joined_does_nothing(command: Command) -> None:
    assert refused(stage_with(), command).why == "You have not joined. Join with your name first."


@pytest.mark.parametrize("value", [0.0, 0.5, 1.0])
def test_lead_and_crew_set_the_master(value: float) -> None:
    for person in ("ann", "mo"):
        assert done(stage_with(), SetMaster(person, value)) == [events.MasterSet(person, value)]


@pytest.mark.parametrize("value", [-0.001, 1.001, math.nan, math.inf, -math.inf])
def test_a_master_outside_0_to_1_is_refused(value: float) -> None:
    assert refused(stage_with(), SetMaster("ann", value)).why.startswith("The master goes from 0 to 1, not ")


def test_lead_and_crew_call_a_blackout_and_take_it_back() -> None:
    stage = stage_with()
    assert done(stage, SetBlackout("mo", on=True)) == [events.BlackoutSet("mo", on=True)]
    assert stage.state.blackout
    done(stage, SetBlackout("ann", on=False))
    assert not stage.state.blackout


@pytest.mark.parametrize("command", [SetMaster("hal", 0.5), SetBlackout("hal", on=True)])
def test_house_staff_leave_the_whole_rig_alone(command: Command) -> None:
    assert refused(stage_with(), command).why == "Only the lead or the crew can do that."


def test_a_role_is_allowed_or_told_whose_it_is() -> None:
    state = state_with()
    for person in PEOPLE:
        assert (allow(state, person.id, "lead") is None) == (person.role == "lead")
    alone = allow(state, "mo", "lead")
    assert alone is not None
    assert alone.why == "Only the lead can do that."
