"""The stage: one state, changed by what was decided and by nothing else."""

from server.stage import events
from server.stage.commands import LetGo, SetMaster
from server.stage.decide import Rules
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import State
from tests.rigs import done, stage_with

__all__: list[str] = []


def test_what_is_asked_happens_and_counts() -> None:
    stage = stage_with()
    assert done(stage, SetMaster("mo", 0.5)) == [events.MasterSet("mo", 0.5)]
    assert (stage.state.master, stage.rev) == (0.5, 1)


def test_a_refusal_changes_and_counts_nothing() -> None:
    stage = stage_with()
    assert isinstance(stage.ask(SetMaster("mo", 1.5), 0), Refused)
    assert (stage.state.master, stage.rev) == (1.0, 0)


def test_what_leads_to_nothing_does_not_count() -> None:
    stage = stage_with()
    assert stage.ask(LetGo("mo", "spot"), 0) == []
    assert stage.rev == 0


def test_several_events_of_one_command_count_once() -> None:
    stage = stage_with()
    stage.happen([events.MasterSet("", 0.2), events.BlackoutSet("", on=True)])
    assert (stage.state.master, stage.state.blackout, stage.rev) == (0.2, True, 1)


def test_it_goes_on_with_the_state_it_is_given_or_an_empty_one() -> None:
    state = State(master=0.3)
    assert Stage(Rules(), state).state is state
    assert Stage(Rules()).state == State()
