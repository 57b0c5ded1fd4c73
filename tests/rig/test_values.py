"""Fractions, raw and physical values: what goes out comes back, and what cannot be is refused."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.rig.profile import Action, Control, Function, Range
from server.rig.values import (
    fraction_from_raw,
    physical_from_raw,
    raw_from_fraction,
    raw_from_physical,
    raw_from_value,
)

__all__: list[str] = []

WIDTHS = st.integers(1, 4)
RESET = Action("reset", 3, 0, "It moves.")


@st.composite
def raws(draw: st.DrawFn) -> tuple[int, int]:
    maximum = (1 << 8 * draw(WIDTHS)) - 1
    return draw(st.integers(0, maximum)), maximum


def control(*functions: Function, width: int = 1) -> Control:
    return Control("Zoom", "Zoom", tuple(range(1, width + 1)), 0, 0, functions)


def zoom() -> Function:
    return Function("Zoom", "Zoom", 0, 255, (46.0, 12.0), "Angle")


def turning() -> Function:
    """A rotation that leaves 1 and 2 degrees a second out around its stop band."""
    ranges = (Range("Stop", 120, 135, (0.0, 0.0)), Range("Slow", 136, 255, (-3.0, -10.0)))
    return Function("Gobo1PosRotate", "Turn", 0, 255, (10.0, -10.0), "AngularSpeed", ranges)


@given(raws())
def test_every_raw_value_survives_the_way_to_a_fraction_and_back(case: tuple[int, int]) -> None:
    raw, maximum = case
    assert raw_from_fraction(fraction_from_raw(raw, maximum), maximum) == raw


@given(st.floats(0, 1), WIDTHS)
def test_a_fraction_becomes_the_nearest_whole_number(fraction: float, width: int) -> None:
    maximum = (1 << 8 * width) - 1
    off = abs(raw_from_fraction(fraction, maximum) - Fraction(fraction) * maximum)
    assert off <= Fraction(1, 2) + Fraction(1, 10**6)


@given(st.integers(0, 65535), st.floats(-1000, 1000), st.floats(0.5, 1000), st.booleans())
def test_every_raw_value_survives_the_way_to_a_physical_one_and_back(
    raw: int, start: float, span: float, reverse: bool
) -> None:
    ends = (start + span, start) if reverse else (start, start + span)
    function = Function("Pan", "Pan", 0, 65535, ends)
    assert (
        raw_from_physical(function, min(max(physical_from_raw(function, raw), min(ends)), max(ends))) == raw
    )


@pytest.mark.parametrize("fraction", [-0.001, 1.001, math.nan, math.inf, -math.inf])
def test_a_share_outside_0_to_1_is_refused_not_pulled_in(fraction: float) -> None:
    with pytest.raises(ValueError, match="not between 0 and 1"):
        raw_from_fraction(fraction, 255)


def test_a_value_outside_what_the_function_does_is_refused() -> None:
    with pytest.raises(ValueError, match="Zoom goes from 12 to 46, not 50"):
        raw_from_physical(zoom(), 50)


def test_a_function_of_one_value_has_that_value_everywhere() -> None:
    function = Function("Shutter1", "Open", 10, 10, (1.0, 1.0))
    assert physical_from_raw(function, 10) == 1
    assert raw_from_physical(function, 1) == 10


def test_a_range_with_its_own_values_overrides_the_line_of_the_function() -> None:
    assert physical_from_raw(turning(), 128) == 0
    assert raw_from_physical(turning(), 0) == 120
    assert raw_from_physical(turning(), 10) == 0  # outside the ranges the function's own line holds
    assert raw_from_physical(turning(), -10) == 255


def test_what_the_line_would_give_inside_such_a_range_is_refused() -> None:
    with pytest.raises(ValueError, match="Turn goes"):
        raw_from_physical(turning(), -0.2)


@pytest.mark.parametrize(
    ("value", "raw"),
    [
        (0, 0),
        (1, 255),
        (0.5, 128),
        ({"raw": 7}, 7),
        ({"physical": 12}, 255),
        ({"physical": 46.0, "function": "Zoom"}, 0),
        ({"range": "zoom"}, 127),
    ],
)
def test_each_way_of_asking_gives_its_raw_value(value: object, raw: int) -> None:
    assert raw_from_value(control(zoom()), value) == raw


def test_a_range_is_found_by_name_whatever_its_capitals() -> None:
    slots = Function("Color1", "Slots", 0, 255, ranges=(Range("Open", 0, 9), Range("Deep red", 10, 19)))
    assert raw_from_value(control(slots), {"range": "deep RED"}) == 14


def test_a_physical_value_goes_to_the_first_function_that_reaches_it_and_never_to_an_action() -> None:
    functions = (
        Function("Shutter1", "Shutter", 0, 9),
        Function("FixtureGlobalReset", "Reset", 10, 19, (2.0, 20.0), action=RESET),
        Function("Shutter1Strobe", "Strobe", 20, 255, (1.0, 20.0), "Frequency"),
    )
    assert raw_from_value(control(*functions), {"physical": 20}) == 255


@pytest.mark.parametrize(
    "value",
    [
        None,
        True,
        False,
        "full",
        [],
        {},
        1.2,
        math.nan,
        10**400,
        {"raw": 10**400},
        {"physical": 10**400},
        {"raw": 256},
        {"raw": -1},
        {"raw": 1.5},
        {"raw": True},
        {"physical": 50},
        {"physical": True},
        {"physical": math.inf},
        {"physical": 20, "function": "Iris"},
        {"range": "Wide"},
        {"range": 3},
    ],
)
def test_anything_else_is_refused_in_a_sentence_that_names_the_control(value: object) -> None:
    with pytest.raises(ValueError, match="Zoom"):
        raw_from_value(control(zoom()), value)


def test_a_number_longer_than_any_float_is_refused_in_a_short_sentence() -> None:
    for value in (10**400, {"raw": -(10**400)}, {"physical": 10**400}):
        with pytest.raises(ValueError, match="Zoom") as refused:
            raw_from_value(control(zoom()), value)
        assert len(str(refused.value)) < 80


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
        lambda x: st.lists(x) | st.dictionaries(st.sampled_from(["raw", "physical", "range", "function"]), x),
    )
)
def test_whatever_is_asked_gives_a_raw_value_in_range_or_a_sentence(value: object) -> None:
    try:
        raw = raw_from_value(control(zoom()), value)
    except ValueError:
        return
    assert 0 <= raw <= 255
