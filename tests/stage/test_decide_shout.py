"""Calls across the room: who hears them, who has seen them, and when they are over."""

from server.stage import events
from server.stage.commands import FocusNext, GoAloft, SeeShout, SendShout, SetOrder, Withdraw
from server.stage.due import due
from server.stage.shout import FORGOTTEN_S, MOST_SHOUTS, SHOUT_S, Shout
from tests.rigs import done, refused, stage_with

__all__: list[str] = []


def test_the_crew_calls_the_lead_and_the_lead_sees_it_once() -> None:
    stage = stage_with()
    shout = Shout(12000, "mo", "Mo", ("ann",), "work_light", 12.0)
    assert done(stage, SendShout("mo", "work_light"), 12.0) == [events.Shouted("mo", shout)]
    assert done(stage, SeeShout("kit", 12000)) == []  # it was not for them
    assert done(stage, SeeShout("ann", 12000)) == [events.ShoutSeen("ann", 12000)]
    assert done(stage, SeeShout("ann", 12000)) == []
    assert stage.state.shouts[12000].seen == ("ann",)


def test_the_lead_calls_somebody_or_everybody_at_work_or_else_who_is_here() -> None:
    stage = stage_with()
    done(stage, SendShout("ann", "ready", "kit"))
    done(stage, SendShout("ann", "hold"))
    done(stage, Withdraw("kit"))
    done(stage, SendShout("ann", "stop"))
    done(stage, SetOrder("ann", ("spot",)))
    done(stage, FocusNext("mo"))
    done(stage, GoAloft("kit", "Bridge 1"))
    done(stage, SendShout("ann", "next"))
    to = {shout.what: shout.to for shout in stage.state.shouts.values()}
    assert to == {"ready": ("kit",), "hold": ("mo", "kit"), "stop": ("mo",), "next": ("mo", "kit")}


def test_nobody_calls_house_staff_nor_does_house_staff_call() -> None:
    stage = stage_with()
    assert refused(stage, SendShout("hal", "stop")).why == "Only the lead or the crew can do that."
    for nobody in ("hal", "zed", "ann"):
        why = "Nobody of the lead or the crew has that name."
        assert refused(stage, SendShout("ann", "stop", nobody)).why == why
    assert refused(stage, SendShout("ann", "hurry")).why == "There is no call hurry."
    assert refused(stage_with(people=1), SendShout("ann", "stop")).why == "Nobody is there to be called."


def test_the_same_call_again_is_one_call_and_too_many_lose_the_oldest() -> None:
    stage = stage_with()
    done(stage, SendShout("mo", "stop"), 1.0)
    done(stage, SendShout("mo", "stop"), 2.0)
    assert list(stage.state.shouts) == [2000]
    for n in range(MOST_SHOUTS + 5):
        done(stage, SendShout("ann", "ready", "mo" if n % 2 else "kit"), 3.0 + n)
        done(stage, SendShout("kit", ("hold", "next")[n % 2]), 3.5 + n)
    assert len(stage.state.shouts) <= MOST_SHOUTS


def test_what_was_seen_is_cleared_away_after_a_minute_and_what_nobody_sees_after_ten() -> None:
    stage = stage_with()
    done(stage, SendShout("mo", "stop"), 100.0)
    done(stage, SendShout("kit", "hold"), 100.0)
    one, other = stage.state.shouts
    done(stage, SeeShout("ann", one), 101.0)
    assert due(stage.state, 100.0 + SHOUT_S - 0.1) == []
    assert due(stage.state, 100.0 + SHOUT_S) == [events.ShoutsOver("", (one,))]
    assert due(stage.state, 100.0 + FORGOTTEN_S) == [events.ShoutsOver("", (one, other))]
    stage.by_the_clock(100.0 + FORGOTTEN_S)
    assert stage.state.shouts == {}


def test_calls_stand_in_the_record_and_are_not_undone() -> None:
    stage = stage_with()
    done(stage, SendShout("mo", "work_light"))
    done(stage, SeeShout("ann", next(iter(stage.state.shouts))))
    called, seen = stage.state.changes.values()
    assert (called.what[0], called.before) == ("Called {call} to {names}.", None)
    assert (seen.what[0], seen.name) == ("Saw the call {call} of {name}.", "Ann")
