"""What a look keeps, and what it never does."""

import pytest

from server.rig.profile import Guard, ModeMaster
from server.stage.looks import capture
from tests.rigs import RIG, control, function, mode, profile, state_with, unit

__all__: list[str] = []


def test_a_look_keeps_what_is_asked_for_hand_and_base_alike() -> None:
    state = state_with()
    state.hand["head"] = {"Pan": 7}
    kept = capture(state, ["head", "spot"])
    assert kept["spot"] == {"Dimmer": 0}
    assert kept["head"] == {"Dimmer": 0, "Pan": 7, "Tilt": 32768, "Shutter1": 100, "Gobo1": 0, "Control1": 0}


def test_only_the_chosen_fixtures_that_exist_are_kept_and_no_guarded_unit() -> None:
    kept = capture(state_with(*RIG.values(), unit("lost", "nothing")), [*RIG, "lost", "nobody"])
    assert set(kept) == set(RIG) - {"fog", "pump"}


def test_a_guarded_control_is_left_out() -> None:
    assert "Fans" not in capture(state_with(), ["head"])["head"]


@pytest.mark.parametrize(("key", "raw"), [("Shutter1", 200), ("Control1", 15), ("Control1", 255)])
def test_a_value_that_flashes_or_acts_is_left_out(key: str, raw: int) -> None:
    state = state_with()
    state.hand["head"] = {key: raw}
    assert key not in capture(state, ["head"])["head"]


def test_a_value_that_could_flash_at_another_value_of_its_mode_master_is_left_out() -> None:
    shutter = control(
        "Shutter1",
        1,
        functions=(
            function("Shutter1", mode_master=ModeMaster("ShutterMode", 0, 99)),
            function("Shutter1Strobe", mode_master=ModeMaster("ShutterMode", 100, 255)),
        ),
    )
    state = state_with(unit("a", "p", mode="m"))
    state.profiles["p"] = profile("p", mode("m", shutter, control("ShutterMode", 2)))
    assert capture(state, ["a"]) == {"a": {"ShutterMode": 0}}
    state.hand["a"] = {"ShutterMode": 100}
    assert capture(state, ["a"]) == {"a": {}}


def test_a_profile_that_became_guarded_takes_its_units_out() -> None:
    state = state_with(RIG["spot"])
    state.profiles["dimmer"] = profile("dimmer", mode("one", control("Dimmer", 1)), guard=Guard("power"))
    assert capture(state, ["spot"]) == {}
