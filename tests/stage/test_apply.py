"""What each event makes of the state, also those that no command leads to just so."""

import pytest

from server.rig.profile import Guard
from server.stage import events
from server.stage.apply import apply
from server.stage.events import EVENTS, Event
from server.stage.state import Hands, Look, Show, SlotLevel, State
from tests.rigs import PROFILES, RIG, control, mode, profile, state_with, unit

__all__: list[str] = []


def after(state: State, *happened: Event) -> State:
    for event in happened:
        apply(state, event)
    return state


def test_an_event_nobody_has_written_a_rule_for_is_our_own_mistake() -> None:
    with pytest.raises(TypeError, match="no rule for Event"):
        apply(State(), Event("mo"))


def test_every_event_has_a_rule() -> None:
    rules = apply.__globals__["_apply"].registry
    assert set(EVENTS.values()) == set(rules) - {object, Event}


def test_a_show_gets_its_name_its_profiles_and_its_fixtures() -> None:
    show = Show("The Salt Ferry", "Marrow Street")
    state = after(
        State(),
        events.ShowNamed("", show),
        events.ProfileAdded("", PROFILES["dimmer"]),
        events.FixturePut("", RIG["spot"]),
        events.OrderSet("", ("spot",)),
    )
    assert state == State(
        show=show, profiles={"dimmer": PROFILES["dimmer"]}, fixtures={"spot": RIG["spot"]}, order=("spot",)
    )


def test_letting_go_takes_the_values_out_of_hand_and_returning_one_only_that() -> None:
    state = after(
        state_with(),
        events.Taken("mo", "head"),
        events.LevelsSet("mo", "head", {"Pan": 1, "Tilt": 2}),
        events.LevelsSet("mo", "head", {"Pan": None, "Gobo1": None, "Tilt": 3}),
    )
    assert (state.holders, state.hand) == ({"head": "mo"}, {"head": {"Tilt": 3}})
    after(state, events.LetGone("mo", "head", 2.0))
    assert (state.holders, state.hand) == ({}, {})


def test_an_action_changes_nothing() -> None:
    assert after(state_with(), events.Acted("mo", "head", "Control1", "Recalibrate", 14, 3.0)) == state_with()


def test_when_which_action_was_asked_is_remembered() -> None:
    acted = events.Acted("mo", "head", "Control1", "Recalibrate", 14, 3.0, "reset", 9.0)
    assert after(state_with(), acted).acted == {"head": {"reset": 9.0}}


def test_a_slot_remembers_who_set_it_until_it_is_given_back() -> None:
    state = after(state_with(), events.SlotSet("mo", 5, 1, 9), events.SlotSet("kit", 5, 2, 8))
    assert state.slots == {5: {1: SlotLevel(9, "mo"), 2: SlotLevel(8, "kit")}}
    assert after(state, events.SlotSet("kit", 5, 1, None)).slots == {5: {2: SlotLevel(8, "kit")}}


def test_a_deleted_baseline_is_no_baseline_any_more() -> None:
    look = Look("one", "One", {})
    state = after(state_with(), events.LookSaved("ann", look), events.BaselineSet("ann", "one"))
    assert after(state, events.LookDeleted("ann", "one")).baseline is None


def test_a_look_of_fixtures_that_are_gone_brings_up_the_others() -> None:
    look = Look("one", "One", {"spot": {"Dimmer": 9}, "gone": {"Dimmer": 9}})
    state = after(state_with(), events.LookSaved("ann", look), events.LookRecalled("mo", "one", 0.0))
    assert state.recalled == {"spot": {"Dimmer": 9}}


def test_looks_recalled_one_after_another_add_up() -> None:
    state = after(
        state_with(),
        events.LookSaved("ann", Look("one", "One", {"head": {"Pan": 1, "Tilt": 1}})),
        events.LookSaved("ann", Look("two", "Two", {"head": {"Pan": 2}})),
        events.LookRecalled("mo", "one", 0.0),
        events.LookRecalled("mo", "two", 0.0),
    )
    assert state.recalled == {"head": {"Pan": 2, "Tilt": 1}}


def test_a_removed_fixture_is_gone_from_everywhere() -> None:
    state = after(
        state_with(),
        events.Taken("mo", "head"),
        events.LevelsSet("mo", "head", {"Pan": 1}),
        events.HandsOnSet("mo", "head", {"Pan": 1}),
        events.LookSaved("ann", Look("one", "One", {"head": {"Pan": 1}, "spot": {"Dimmer": 1}})),
        events.LookSaved("ann", Look("two", "Two", {"spot": {"Dimmer": 2}})),
        events.LookRecalled("mo", "one", 0.0),
        events.FixtureRemoved("ann", "head"),
    )
    assert b"head" not in repr((state.fixtures, state.order, state.holders, state.hand)).encode()
    assert (state.hands_on, state.recalled) == ({}, {"spot": {"Dimmer": 1}})
    assert {look.id: set(look.values) for look in state.looks.values()} == {"one": {"spot"}, "two": {"spot"}}


def test_hands_keep_who_and_what() -> None:
    state = after(state_with(), events.HandsOnSet("kit", "head", {"Pan": 7}))
    assert state.hands_on == {"head": Hands("kit", {"Pan": 7})}
    assert after(state, events.HandsOnSet("kit", "head", None)).hands_on == {}


def test_a_control_guarded_in_the_new_mode_takes_no_value_over() -> None:
    free, guarded = mode("free", control("Fans", 1)), mode("guarded", control("Fans", 1, guard=Guard("fan")))
    state = after(
        State(),
        events.ProfileAdded("", profile("fan", free, guarded)),
        events.FixturePut("", unit("a", "fan", mode="free")),
        events.LevelsSet("mo", "a", {"Fans": 200}),
        events.FixturePut("", unit("a", "fan", mode="guarded")),
    )
    assert state.hand == {"a": {}}


@pytest.mark.parametrize(("name", "hand"), [("one", {"Dimmer": 200}), ("two", {"Dimmer": 51400})])
def test_only_another_mode_changes_the_values(name: str, hand: dict[str, int]) -> None:
    state = after(state_with(RIG["spot"]), events.LevelsSet("mo", "spot", {"Dimmer": 200}))
    after(state, events.FixturePut("ann", unit("spot", address=9, mode=name)))
    assert state.hand == {"spot": hand}
