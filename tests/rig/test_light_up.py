"""Lit up, a unit is open, white and at its level, and nothing of it moves that should not."""

import pytest

from server.rig.light_up import light_up
from server.rig.profile import Action, Control, Function, Guard, Mode, Range

__all__: list[str] = []

RESET = Action("reset", 3, 0, "It moves.")


def control(
    attribute: str, *functions: Function, home: int = 0, highlight: int | None = None, cell: str | None = None
) -> Control:
    key = f"{attribute}/{cell}" if cell else attribute
    functions = functions or (Function(attribute, attribute, 0, 255),)
    return Control(key, attribute, (1,), 0, home, functions, highlight, cell)


def lit(*controls: Control, level: float = 1.0, as_it_hangs: bool = False) -> dict[str, int]:
    return light_up(Mode("m", 1, controls), level, as_it_hangs)


def colours(*names: str) -> set[str]:
    values = lit(*(control(f"ColorAdd_{name}") for name in names))
    assert set(values.values()) <= {0, 255}
    return {key.removeprefix("ColorAdd_") for key, raw in values.items() if raw}


@pytest.mark.parametrize(
    ("emitters", "white"),
    [
        ("R G B", "R G B"),
        ("R G B W", "R G B W"),
        ("R G B RY GY UV", "R G B"),
        ("WW CW", "WW CW"),
        ("W RY UV", "W"),
        ("R RY GY GC B BM", "R RY GY GC B BM"),
        ("RY", "RY"),
        ("UV", ""),
    ],
)
def test_white_is_chosen_by_attribute_and_ultraviolet_stays_out(emitters: str, white: str) -> None:
    assert colours(*emitters.split()) == set(white.split())


def test_the_intensity_is_at_the_level_asked_for() -> None:
    assert lit(control("Dimmer"), level=0.5) == {"Dimmer": 128}
    assert lit(control("Dimmer"), level=0.0) == {"Dimmer": 0}


def test_an_intensity_that_strobes_higher_up_or_runs_backwards_is_read_by_its_function() -> None:
    strobing = control(
        "Dimmer", Function("Dimmer", "Dim", 0, 199), Function("Shutter1Strobe", "Strobe", 200, 255)
    )
    assert lit(strobing) == {"Dimmer": 199}
    assert lit(control("Dimmer", Function("Dimmer", "Dim", 0, 255, (1.0, 0.0))), level=0.2) == {"Dimmer": 204}
    assert lit(control("Dimmer", Function("NoFeature", "Nothing", 0, 255))) == {"Dimmer": 255}


def test_cells_under_one_intensity_are_full_and_without_one_at_the_level() -> None:
    cells = [control("Dimmer", cell=name) for name in "AB"]
    assert lit(*cells, level=0.2) == {"Dimmer/A": 51, "Dimmer/B": 51}
    assert lit(control("Dimmer"), *cells, level=0.2) == {"Dimmer": 51, "Dimmer/A": 255, "Dimmer/B": 255}


def test_a_level_outside_0_to_1_is_refused() -> None:
    with pytest.raises(ValueError, match="not between 0 and 1"):
        lit(control("Dimmer"), level=1.1)


def test_as_it_hangs_it_is_not_told_to_move() -> None:
    head = [control("Pan", home=128, highlight=7), control("Tilt", home=128), control("Zoom", home=99)]
    assert lit(*head) == {"Pan": 128, "Tilt": 128, "Zoom": 99}
    assert lit(*head, as_it_hangs=True) == {"Zoom": 99}


def test_guarded_controls_and_those_with_an_action_are_left_alone() -> None:
    guarded = Control("Fog1", "Fog1", (1,), 0, 0, (Function("Fog1", "Fog", 0, 255),), guard=Guard("fog"))
    acting = control(
        "Control1",
        Function("NoFeature", "Idle", 0, 9),
        Function("FixtureGlobalReset", "Reset", 10, 255, action=RESET),
    )
    assert lit(guarded, acting, control("Iris", home=3)) == {"Iris": 3}


def test_a_highlight_is_taken_as_a_hint_unless_it_would_strobe() -> None:
    halves = (Function("Frost1", "Out", 0, 99), Function("Shutter1Strobe", "Strobe", 100, 255))
    assert lit(control("Frost1", *halves, home=5, highlight=50)) == {"Frost1": 50}
    assert lit(control("Frost1", *halves, home=5, highlight=150)) == {"Frost1": 5}


SHUT = (Range("Shut", 0, 99, (0.0, 0.0)), Range("Clear", 100, 199, (1.0, 1.0)))
STROBE = Function("Shutter1Strobe", "Strobe", 200, 255, (1.0, 20.0))


@pytest.mark.parametrize(
    ("functions", "home", "highlight", "raw"),
    [
        ((Function("Shutter1", "S", 0, 199, ranges=SHUT), STROBE), 0, None, 149),
        ((Function("Shutter1", "S", 0, 199, ranges=SHUT), STROBE), 120, None, 120),
        ((Function("Shutter1", "S", 0, 199, ranges=SHUT), STROBE), 120, 0, 120),
        ((Function("Shutter1", "S", 0, 199, ranges=SHUT), STROBE), 0, 130, 130),
        ((Function("Shutter1", "S", 0, 199, ranges=SHUT), STROBE), 0, 220, 149),
        ((STROBE, Function("Shutter1", "S", 0, 199)), 0, None, 199),
        ((Function("Shutter1", "S", 0, 199, (1.0, 0.0)), STROBE), 50, None, 0),
        ((Function("Shutter1", "S", 0, 199, (0.0, 0.0), ranges=(Range("Is open", 10, 12),)),), 0, None, 11),
        ((Function("Shutter1", "S", 0, 199, (0.0, 0.0)),), 7, None, 7),
    ],
)
def test_a_shutter_is_opened_and_never_strobes(
    functions: tuple[Function, ...], home: int, highlight: int | None, raw: int
) -> None:
    assert lit(control("Shutter1", *functions, home=home, highlight=highlight)) == {"Shutter1": raw}
