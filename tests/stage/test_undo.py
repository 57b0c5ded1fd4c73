"""What stood before, what a change is about, and what it rests on."""

import pytest

from server.stage import events
from server.stage.apply import apply
from server.stage.events import Event
from server.stage.put_back import put_back
from server.stage.state import Before, Fault, Look, Settings, SlotLevel, State, Who
from server.stage.undo import covers, reading, reads, stood, subjects, weight
from tests.rigs import PROFILES, RIG, state_with, unit

__all__: list[str] = []

ONE = Look("one", "One", {"head": {"Dimmer": 9, "Pan": 8}, "spot": {"Dimmer": 7}})


def full() -> State:
    """A state where something stands in every place."""
    state = state_with()
    state.holders, state.hand = {"head": "mo"}, {"head": {"Pan": 5}}
    state.recalled = {"head": {"Tilt": 3}, "wash": {"Dimmer": 1}}
    state.looks, state.baseline = {"one": ONE}, "one"
    state.faults = {"head": Fault("dark", "mo")}
    state.slots = {1: {400: SlotLevel(9, "mo")}}
    return state


EACH: list[Event] = [
    events.Taken("kit", "head"),
    events.LetGone("mo", "head", 1.0),
    events.LevelsSet("mo", "head", {"Pan": 1, "Tilt": 2, "Dimmer": None}),
    events.FaultSet("kit", "head", None),
    events.FaultSet("kit", "spot", "lamp out"),
    events.SlotSet("kit", 1, 400, None),
    events.SlotSet("kit", 7, 1, 3),
    events.MasterSet("kit", 0.5),
    events.BlackoutSet("kit", True),
    events.LookSaved("ann", Look("one", "Other", {})),
    events.LookSaved("ann", Look("two", "Two", {})),
    events.LookDeleted("ann", "one"),
    events.LookRecalled("ann", "one", 0.0),
    events.BaselineSet("ann", None),
    events.ProfileAdded("ann", PROFILES["wash"]),
    events.FixturePut("ann", unit("new", address=100)),
    events.FixturePut("ann", unit("spot", address=90, purpose="Key")),
    events.FixturePut("ann", unit("head", "head", 11, mode="coarse")),
    events.FixtureRemoved("ann", "head"),
    events.OrderSet("ann", ("spot",)),
    events.SettingsChanged("ann", Settings(let_go_s=9)),
    events.LooksLifted("ann", ("head", "spot"), 2.0),
]


@pytest.mark.parametrize("event", EACH, ids=lambda event: type(event).__name__)
def test_put_back_after_any_event_everything_stands_as_it_stood(event: Event) -> None:
    state = full()
    before = stood(state, [event])
    apply(state, event)
    back = events.PutBack("ann", 1, 1, 0.0, Who("Ann", "lead"), ["x"], before, 1.0)
    put_back(state, back, apply)
    shown, then = full(), state
    shown.changed, shown.slots = 1, {u: s for u, s in full().slots.items() if s}
    then.slots = {u: s for u, s in then.slots.items() if s}
    then.last_at, then.opened = {}, set()
    assert then == shown


def test_what_stands_is_read_from_the_same_places() -> None:
    state = full()
    before = stood(state, EACH[:9])
    assert reading(state, before) == before
    apply(state, events.MasterSet("kit", 0.5))
    assert reading(state, before).master == 0.5


def test_a_recall_remembers_only_what_it_changes() -> None:
    state = full()
    state.baseline = None
    state.recalled["head"] = {"Dimmer": 9, "Pan": 1}
    assert stood(state, [events.LookRecalled("ann", "one", 0)]).recalled == {
        "head": {"Pan": 1},
        "spot": {"Dimmer": None},
    }


def test_a_level_moves_on_where_its_beginning_is_known() -> None:
    state = full()
    before = stood(state, [events.LevelsSet("mo", "head", {"Pan": 1}), events.SlotSet("mo", 1, 5, 1)])
    assert covers(before, events.LevelsSet("mo", "head", {"Pan": 2}))
    assert not covers(before, events.LevelsSet("mo", "head", {"Pan": 2, "Tilt": 1}))
    assert not covers(before, events.LevelsSet("mo", "spot", {"Pan": 2}))
    assert covers(before, events.SlotSet("mo", 1, 5, None))
    assert not covers(before, events.SlotSet("mo", 1, 6, 1))
    assert not covers(before, events.MasterSet("mo", 1))
    assert not covers(before, events.Taken("mo", "head"))


@pytest.mark.parametrize(
    ("event", "about"),
    [
        (EACH[0], {"fixture head"}),
        (EACH[2], {"fixture head"}),
        (EACH[5], {"slot 1.400"}),
        (EACH[7], {"master"}),
        (EACH[10], {"look two"}),
        (EACH[11], {"look one", "baseline"}),
        (EACH[12], {"recalled"}),
        (EACH[16], {"fixture spot"}),
        (EACH[17], {"fixture head", "patch head", "look one", "recalled"}),
        (EACH[18], {"fixture head", "patch head", "look one", "recalled", "order"}),
    ],
)
def test_a_change_is_about_what_it_writes_to(event: Event, about: set[str]) -> None:
    state = full()
    before = stood(state, [event])
    apply(state, event)
    assert set(subjects(state, before)) == about


def test_values_kept_elsewhere_rest_on_the_mode_they_were_taken_in() -> None:
    assert reads(Before(looks={"one": ONE, "two": None})) == {"patch head", "patch spot"}
    assert reads(Before(recalled={"spot": {}}, hand={"head": {"Pan": 1}})) == {"patch spot"}


def test_it_weighs_what_it_holds() -> None:
    assert weight(Before()) == 0
    assert weight(Before(hand={"head": {"Pan": 1, "Tilt": None}}, looks={"one": ONE, "two": None})) == 5
    assert weight(Before(order=("a", "b"), slots={1: {2: None}}, fixtures={"spot": RIG["spot"]})) == 4
