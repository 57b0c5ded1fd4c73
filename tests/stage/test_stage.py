"""The stage: one state, changed by what was decided and by nothing else."""

from server.stage import events
from server.stage.commands import Judge, LetGo, MarkFault, SetMaster
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


def test_what_a_phone_sends_twice_under_one_name_happens_once() -> None:
    stage = stage_with()
    first = stage.ask(MarkFault("mo", "spot", "lamp out"), 10.0, "a-1")
    assert not isinstance(first, Refused)
    assert events.Entered("mo", "a-1") in first
    done(stage, MarkFault("ann", "spot", "shutter stuck"))
    assert stage.ask(MarkFault("mo", "spot", "lamp out"), 12.0, "a-1") == []
    assert stage.state.faults["spot"].words == "shutter stuck"


def test_what_was_refused_may_be_sent_again_under_its_name() -> None:
    stage = stage_with()
    assert isinstance(stage.ask(MarkFault("mo", "spot", ""), 0.0, "a-2"), Refused)
    assert stage.ask(MarkFault("mo", "spot", "lamp out"), 0.0, "a-2")


def test_names_are_forgotten_oldest_first() -> None:
    stage = stage_with()
    stage.happen([events.Entered("mo", f"e{at}") for at in range(2001)])
    assert len(stage.state.entries) == 2000
    assert "e0" not in stage.state.entries


def test_a_verdict_that_comes_late_leaves_a_younger_one_of_somebody_else() -> None:
    stage = stage_with()
    done(stage, Judge("ann", "spot", True), 100.0)
    late = stage.ask(Judge("mo", "spot", False, "no_light"), 40.0, "a-3")
    assert not isinstance(late, Refused)
    assert stage.state.verdicts[1]["spot"].works
    done(stage, Judge("mo", "spot", False, "no_light"), 140.0)
    assert not stage.state.verdicts[1]["spot"].works
