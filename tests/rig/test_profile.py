"""What a profile answers about its controls and functions."""

import pytest

from server.rig.profile import Control, Function, Mode, ModeMaster, Profile, Range

__all__: list[str] = []


def control(
    attribute: str, *offsets: int, functions: tuple[Function, ...] = (), mastered: bool = False
) -> Control:
    return Control(attribute, attribute, offsets, 0, 0, functions, mastered=mastered)


@pytest.mark.parametrize(
    ("offsets", "width", "maximum"),
    [((1,), 1, 255), ((1, 2), 2, 65535), ((5, 2, 9), 3, 16777215), ((1, 2, 3, 4), 4, 4294967295)],
)
def test_width_and_largest_value_follow_from_the_slots(
    offsets: tuple[int, ...], width: int, maximum: int
) -> None:
    assert (control("Pan", *offsets).width, control("Pan", *offsets).maximum) == (width, maximum)


def test_a_control_without_slots_is_kept_at_16_bit() -> None:
    assert (control("Dimmer").width, control("Dimmer").maximum) == (2, 65535)


@pytest.mark.parametrize(
    ("attribute", "strobes"),
    [
        # The names are those of GDTF's Annex A.
        ("Shutter1", False),
        ("Shutter1Strobe", True),
        ("Shutter2StrobeRandomPulseOpen", True),
        ("IrisStrobe", True),
        ("IrisPulseClose", True),
        ("StrobeFrequency", True),
        ("StrobeModeRandom", True),
        ("StrobeModeShutter", False),
        ("StrobeDuration", False),
        ("Iris", False),
        ("Dimmer", False),
    ],
)
def test_a_function_strobes_by_its_attribute(attribute: str, strobes: bool) -> None:
    assert Function(attribute, attribute, 0, 255).strobes == strobes


@pytest.mark.parametrize(
    ("attribute", "moves"),
    [("Pan", True), ("TiltRotate", True), ("XYZ_X", True), ("Zoom", False), ("Gobo1Pos", False)],
)
def test_a_control_moves_the_unit_by_its_attribute(attribute: str, moves: bool) -> None:
    assert control(attribute, 1).moves == moves
    assert Mode("m", 1, (control(attribute, 1),)).can_move == moves


def test_functions_are_found_by_raw_value() -> None:
    low, high = Function("Gobo1", "Low", 0, 99), Function("Gobo1", "High", 110, 255)
    wheel = control("Gobo1", 1, functions=(low, high))
    assert [wheel.function_at(raw) for raw in (0, 99, 105, 110)] == [low, low, None, high]
    assert wheel.functions_at(105) == ()


def test_functions_that_mode_masters_tell_apart_are_all_found() -> None:
    index = Function("Gobo1Pos", "Angle", 0, 255, mode_master=ModeMaster("Gobo1", 0, 99))
    turn = Function("Gobo1PosRotate", "Turn", 0, 255, mode_master=ModeMaster("Gobo1", 100, 255))
    position = control("Gobo1Pos", 1, functions=(index, turn))
    assert position.functions_at(7) == (index, turn)
    assert position.function_at(7) == index


def test_what_a_control_does_follows_from_what_its_mode_masters_stand_at() -> None:
    free = Function("Gobo1Pos", "Centred", 128, 128)
    index = Function("Gobo1Pos", "Angle", 0, 255, mode_master=ModeMaster("Gobo1", 0, 99))
    turn = Function("Gobo1PosRotate", "Turn", 0, 255, mode_master=ModeMaster("Gobo1", 100, 255))
    position, wheel = control("Gobo1Pos", 1, functions=(free, index, turn)), control("Gobo1", 2)
    mode = Mode("m", 2, (position, wheel))
    assert mode.doing(position, {"Gobo1Pos": 128, "Gobo1": 99}) == (free, index)
    assert mode.doing(position, {"Gobo1Pos": 7, "Gobo1": 100}) == (turn,)


def test_a_range_without_values_of_its_own_lies_on_the_line_of_its_function() -> None:
    function = Function(
        "Iris", "Iris", 0, 255, (1.0, 0.0), ranges=(Range("Open", 0, 9), Range("Shut", 250, 255, (0.0, 0.0)))
    )
    assert function.span_at(5) == (0, 255, (1.0, 0.0))
    assert function.span_at(252) == (250, 255, (0.0, 0.0))


def test_modes_and_controls_are_found_by_name() -> None:
    dimmer, iris = control("Dimmer", 1, mastered=True), control("Iris", 2)
    mode = Mode("two", 2, (dimmer, iris))
    profile = Profile("k", "Name", "N", "Generic", 1, "light", (mode,))
    assert (mode.control("Iris"), mode.control("Zoom")) == (iris, None)
    assert list(mode.intensities) == [dimmer]
    assert (profile.mode("two"), profile.mode("three")) == (mode, None)
