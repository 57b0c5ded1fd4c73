"""Values as a person says them."""

from server.rig.said import Said
from server.stage.spoken_levels import levels, spoken_values
from tests.rigs import PROFILES, control, function, mode, state_with

__all__: list[str] = []


def test_a_value_is_degrees_the_name_of_a_range_or_a_share() -> None:
    pan = control("Pan", 1, functions=(function("Pan", physical=(-270.0, 270.0), unit="Angle"),))
    head = mode("m", pan, *PROFILES["head"].modes[0].controls[3:4])
    assert spoken_values(head, {"Pan": 255, "Shutter1": 100}) == "Pan 270°, Shutter1 Open"
    assert spoken_values(head, {"Pan": 0, "Shutter1": 200}) == "Pan -270°, Shutter1 78 %"


def test_of_many_the_first_are_said() -> None:
    head = PROFILES["head"].modes[0]
    said = spoken_values(head, {c.key: c.home for c in head.controls})
    assert said == "Dimmer 0 %, Pan 50 %, Tilt 50 % and 4 more"
    assert isinstance(said, Said)


def test_what_is_asked_is_said_and_nothing_of_a_fixture_that_is_gone() -> None:
    state = state_with()
    state.hand["spot"] = {"Dimmer": 51}
    assert levels(state, "spot", ("Dimmer", "Pan")) == "Dimmer 20 %"
    assert levels(state, "gone", ("Dimmer",)) == ""
