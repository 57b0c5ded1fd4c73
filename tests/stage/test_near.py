"""People near a unit, and what that means for it."""

from server.stage import events
from server.stage.near import freezing, is_near, names, rises, stay_still
from server.stage.state import Aloft, Hands
from tests.rigs import PROFILES, RIG, state_with

__all__: list[str] = []

HEAD = PROFILES["head"].modes[0]


def test_what_moves_or_acts_is_what_is_frozen() -> None:
    assert freezing(HEAD, {"Pan": 1, "Dimmer": 2, "Control1": 3}) == {"Pan": 1, "Control1": 3}


def test_near_is_with_hands_on_it_or_aloft_at_its_position() -> None:
    state = state_with()
    assert not is_near(state, RIG["head"])
    state.aloft["mo"] = Aloft("Bridge 1", 0.0)
    assert is_near(state, RIG["head"])
    assert not is_near(state, RIG["aisle"])
    state.hands_on["aisle"] = Hands("kit", {})
    assert is_near(state, RIG["aisle"])


def test_a_unit_stays_where_it_points_as_it_leaves_or_else_as_asked() -> None:
    state = state_with()
    (still,) = stay_still(state, "mo", "head", {"Pan": 7})
    assert still == events.StillSet("mo", "head", {"Pan": 7, "Tilt": 32768, "Control1": 0})
    assert not stay_still(state, "mo", "spot", {})
    assert not stay_still(state, "mo", "nobody", {})
    state.still["head"] = {"Pan": 1}
    assert not stay_still(state, "mo", "head", {"Pan": 7})


def test_a_rise_is_of_an_intensity_and_more_than_a_tenth() -> None:
    assert rises(HEAD, {"Dimmer": 0}, {"Dimmer": 10_000})
    assert not rises(HEAD, {"Dimmer": 0}, {"Dimmer": 6_000})
    assert not rises(HEAD, {"Dimmer": 65_535}, {"Dimmer": 0})
    assert not rises(HEAD, {"Pan": 0}, {"Pan": 65_535})


def test_names_in_one_line_also_of_who_has_left() -> None:
    assert names(state_with(), ("mo", "gone")) == "Mo, Somebody who has left"
