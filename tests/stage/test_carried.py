"""What of the state goes with a show, and what stays with the laptop."""

from dataclasses import fields

from server.stage.carried import STAYS, Carried, carried, put_in
from server.stage.state import Fault, Hands, Look, Show, SlotLevel, State
from tests.rigs import state_with, unit

__all__: list[str] = []

# Whoever adds a field to State decides here: does it travel (a field of Carried), stay with the laptop
# (STAYS), or begin anew with another show, as what is in somebody's hand does?
ANEW = {"holders", "hand", "slots", "opened", "recalled", "hands_on", "last_at"}
ANEW |= {
    "out_of_use",
    "still",
    "armed",
    "runs",
    "dark",
    "flashing",
    "lifted",
    "acted",
    "changes",
    "checking",
    "seek",
    "teaching",
}
ANEW |= {"now", "beside", "shouts"}


def test_of_every_field_it_is_decided_whether_it_travels() -> None:
    travels = {each.name for each in fields(Carried)}
    assert {each.name for each in fields(State)} <= travels | STAYS | ANEW
    assert len(travels | STAYS | ANEW) == len(travels) + len(STAYS) + len(ANEW)


def test_another_show_takes_the_place_of_this_one_and_the_people_stay() -> None:
    state, other = state_with(), state_with(unit("far", universe=7), people=1)
    state.hand, state.holders, state.last_at = {"spot": {"Dimmer": 9}}, {"spot": "mo"}, {"mo": "spot"}
    state.slots, state.opened = {9: {1: SlotLevel(7, "mo")}}, {9}
    state.hands_on, state.master, state.gone = {"head": Hands("mo", {})}, 0.5, {"mo": 3.0}
    other.show, other.looks, other.baseline = Show("Far", "Away"), {"l": Look("l", "L", {})}, "l"
    other.faults = {"far": Fault("lamp out", "zed")}
    people = dict(state.people)
    brought = carried(other)
    put_in(state, brought)
    assert carried(state) == brought
    assert (state.people, state.master, state.gone) == (people, 0.5, {"mo": 3.0})
    fresh = State()
    assert all(getattr(state, name) == getattr(fresh, name) for name in ANEW if hasattr(fresh, name))


def test_what_is_carried_does_not_change_with_the_state_it_came_from_or_went_to() -> None:
    state, other = state_with(), State()
    brought = carried(state)
    put_in(other, brought)
    state.fixtures.clear()
    other.fixtures.clear()
    other.looks["x"] = Look("x", "X", {})
    assert len(brought.fixtures) > 5
    assert brought.looks == {}
