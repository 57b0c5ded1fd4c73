"""Sharing a universe with a console: the lead alone decides, and never takes what is off limits from it."""

import pytest

from server.rig.universe import OffLimits
from server.stage import events
from server.stage.commands import GoAloft, HandsOn, SetSlot, SetValues, Undo
from server.stage.commands_outputs import SetRoute
from server.stage.commands_shared import ClearUniverse, GiveBack, Share
from server.stage.decide import Rules
from server.stage.outputs import Output, Route
from server.stage.shared import ALONE, Called, Join, Shared
from server.stage.stage import Stage
from tests.rigs import done, refused, stage_with

__all__: list[str] = []


AS_3: tuple[Called, ...] = (("artnet", 3, ""), ("sacn", 3, ""))  # what universe 3 is called as usual


def test_the_lead_decides_and_takes_it_back() -> None:
    stage, slots = stage_with(), Shared("slots", True, called=AS_3)
    assert stage.state.shared_as(3) == ALONE
    assert done(stage, Share("ann", 3, slots))[0] == events.UniverseShared("ann", 3, slots)
    assert stage.state.shared_as(3) == slots
    assert done(stage, Share("ann", 3, slots)) == []
    assert done(stage, Share("ann", 3, None))[0] == events.UniverseShared("ann", 3, None)
    assert stage.state.shared == {}
    assert done(stage, Share("ann", 3, None)) == []


def test_a_decision_is_for_the_numbers_a_universe_is_to_go_by_and_may_be_made_again_for_others() -> None:
    stage = stage_with()
    done(stage, Share("ann", 3, Shared("off")))
    assert stage.state.shared[3].holds_for(AS_3)
    assert not stage.state.shared[3].holds_for((*AS_3, ("sacn", 101, "")))
    done(stage, SetRoute("ann", 3, Route((Output("sacn", "multicast", number=101),))))
    assert done(stage, Share("ann", 3, Shared("off")))
    assert stage.state.shared[3].called == (("sacn", 101, ""),)
    assert Shared("off").holds_for(AS_3)  # as it was kept before numbers were


@pytest.mark.parametrize("who", ["mo", "hal"])
def test_nobody_else_does(who: str) -> None:
    assert refused(stage_with(), Share(who, 1, Shared("off"))).why == "Only the lead can do that."


@pytest.mark.parametrize("join", ["above", "slots"])
def test_what_can_outrank_a_console_follows_it(join: Join) -> None:
    why = "Where our slots can outrank a console's, the rest must be its own: follow it there."
    assert refused(stage_with(), Share("ann", 1, Shared(join))).why == why


def test_above_a_console_no_slot_is_off_limits() -> None:
    limits = (OffLimits(1, 400, 449, "aisle light"),)
    stage = Stage(Rules(limits), stage_with().state)
    assert "aisle light" in refused(stage, Share("ann", 1, Shared("above", True))).why
    for shared in (Shared("slots", True), Shared("below"), Shared("off"), Shared("alone", True)):
        assert done(stage, Share("ann", 1, shared))
    assert done(stage, Share("ann", 2, Shared("above", True)))


def test_words_and_universes_that_do_not_exist_are_refused() -> None:
    stage = stage_with()
    for universe in (0, 64000):
        assert refused(stage, Share("ann", universe, None)).why.startswith("Universes go from 1 to 63999")
    for odd in (Shared("odd"), Shared("alone", gone="odd")):  # type: ignore[arg-type]
        assert refused(stage, Share("ann", 1, odd)).why == "There is no such way to share a universe."


def test_it_is_undone_and_done_again() -> None:
    stage = stage_with()
    done(stage, Share("ann", 3, Shared("below")))
    done(stage, Share("ann", 3, Shared("off")))
    below, off = Shared("below", called=AS_3), Shared("off", called=AS_3)
    for there in (below, off, below):
        done(stage, Undo("ann", 2))
        assert stage.state.shared == {3: there}
    done(stage, Undo("ann", 1))
    assert stage.state.shared == {}


def test_undoing_asks_the_same_rules() -> None:
    before = Stage(Rules(), stage_with().state)
    done(before, Share("ann", 1, Shared("above", True)))
    done(before, Share("ann", 1, None))
    stage = Stage(Rules((OffLimits(1, 400, 449, "aisle light"),)), before.state)
    assert "aisle light" in refused(stage, Undo("ann", 2)).why
    assert refused(stage, Undo("mo", 1)).why


def test_a_universe_does_not_end_under_somebody_aloft_by_one_press() -> None:
    stage = stage_with()
    done(stage, GoAloft("mo", "Bridge 1"))
    asked = refused(stage, Share("ann", 1, Shared("off")))
    assert asked.ask == "held"
    assert asked.why == (
        "Somebody is aloft (Mo). Ending universe 1 may take their light: press and hold if you mean it."
    )
    assert done(stage, Share("ann", 1, Shared("below")))
    assert done(stage, Share("ann", 1, Shared("off"), held=True))


def test_giving_back_lets_go_of_all_there_and_follows_until_it_ends() -> None:
    stage = stage_with()
    unit = stage.state.fixtures["spot"]
    (universe,) = unit.universes
    done(stage, SetValues("ann", "spot", {"Dimmer": 0.5}))
    done(stage, SetSlot("ann", universe, 400, 9))
    assert refused(stage, ClearUniverse("mo", universe)).why == "Only the lead can do that."
    assert refused(stage, GiveBack("mo", universe, "Desk", 1, 1, 0)).why == "Only the lead can do that."
    done(stage, ClearUniverse("ann", universe))
    assert (stage.state.holders, stage.state.slots.get(universe, {})) == ({}, {})
    assert stage.state.shared[universe] == Shared("alone", follow=True)
    done(stage, GiveBack("ann", universe, "Desk", 1, 1, 0))
    assert stage.state.shared[universe] == Shared("off")


def test_giving_back_lifts_looks_and_what_is_lit_beside_a_focus_there_and_nowhere_else() -> None:
    stage = stage_with()
    (universe,) = stage.state.fixtures["spot"].universes
    other = next(f.id for f in stage.state.fixtures.values() if universe not in f.universes)
    stage.state.recalled |= {"spot": {"Dimmer": 7}, other: {"Dimmer": 8}}
    stage.state.beside |= {"spot": {"Dimmer": 9}, other: {"Dimmer": 9}}
    before = {"spot": {"Dimmer": 7}, other: {"Dimmer": 8}}
    done(stage, ClearUniverse("ann", universe))
    assert stage.state.recalled == {other: {"Dimmer": 8}}
    assert stage.state.beside == {other: {"Dimmer": 9}}
    done(stage, Undo("ann", stage.state.changed))
    assert stage.state.recalled == before


def test_giving_back_asks_about_others_and_people_aloft_and_never_goes_over_hands() -> None:
    stage = stage_with()
    (universe,) = stage.state.fixtures["spot"].universes
    done(stage, SetValues("mo", "spot", {"Dimmer": 0.5}))
    asked = refused(stage, ClearUniverse("ann", universe))
    assert (asked.ask, "in hand (Mo)" in asked.why) == ("held", True)
    assert done(stage, ClearUniverse("ann", universe, held=True))
    done(stage, GoAloft("mo", "Bridge 1"))
    assert refused(stage, ClearUniverse("ann", universe)).ask == "held"
    done(stage, HandsOn("kit", "spot", on=True))
    for held in (False, True):
        assert refused(stage, ClearUniverse("ann", universe, held)).why.startswith("Somebody has hands on ")
