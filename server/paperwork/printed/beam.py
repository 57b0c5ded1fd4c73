"""What a unit is asked to do, in the few words that a focus chart has room for."""

from collections.abc import Callable, Iterable, Mapping

from server.rig.profile import Control, Mode
from server.rig.values import physical_from_raw

__all__ = ["BEAM", "beam_of"]

# The columns of a focus chart that the rig itself can fill.
BEAM = ("aim", "edge", "zoom", "iris", "top", "bottom", "left", "right", "template", "turn", "colour")
MIXES = {
    "ColorAdd_R": "R",
    "ColorAdd_G": "G",
    "ColorAdd_B": "B",
    "ColorAdd_W": "W",
    "ColorAdd_WW": "WW",
    "ColorAdd_CW": "CW",
    "ColorAdd_RY": "A",
    "ColorAdd_GY": "L",
    "ColorAdd_UV": "UV",
    "ColorSub_C": "C",
    "ColorSub_M": "M",
    "ColorSub_Y": "Y",
}


def beam_of(mode: Mode, values: Mapping[str, int]) -> tuple[str, ...]:
    """What stands in each column of BEAM for these raw values; "" where the mode has nothing of the kind.

    A labelled range by its name, an angle in degrees, everything else in percent of its own range. Of cells
    the first speaks for all.
    """

    def of(fits: Callable[[Control], bool], named: bool = False) -> str:
        said = (_value(c, values[c.key], named) for c in _first_cells(mode.controls) if fits(c))
        return ", ".join(text for text in said if text)

    def blade(edge: str) -> str:
        return of(
            lambda c: (
                c.attribute.startswith("Blade")
                and not c.attribute.endswith("Rot")
                and c.functions[0].name.startswith(edge)
            )
        )

    found = {
        "aim": of(lambda c: c.attribute in ("Pan", "Tilt")),
        "edge": of(lambda c: c.attribute == "Focus1"),
        "zoom": of(lambda c: c.attribute == "Zoom"),
        "iris": of(lambda c: c.attribute == "Iris"),
        "template": of(lambda c: c.attribute in ("Gobo1", "Gobo2"), named=True),
        "turn": of(lambda c: c.attribute in ("Gobo1Pos", "Gobo2Pos")),
        "colour": _colour(mode, values, of),
        **{edge.lower(): blade(edge) for edge in ("Top", "Bottom", "Left", "Right")},
    }
    return tuple(found[name] for name in BEAM)


def _colour(mode: Mode, values: Mapping[str, int], of: Callable[..., str]) -> str:
    wheel = of(lambda c: c.attribute in ("Color1", "Color2"), named=True)
    mixed = [c for c in _first_cells(mode.controls) if c.attribute in MIXES]
    parts = [f"{MIXES[c.attribute]}{_percent(c, values[c.key])}" for c in mixed if values[c.key]]
    return ", ".join(part for part in (wheel, " ".join(parts)) if part)


def _first_cells(controls: Iterable[Control]) -> Iterable[Control]:
    met = set[str]()
    for control in controls:
        if control.attribute not in met:
            met.add(control.attribute)
            yield control


def _value(control: Control, raw: int, named: bool) -> str:
    function = control.function_at(raw)
    if function is None:
        return ""
    if named:
        return next((r.name for r in function.ranges if r.first <= raw <= r.last), function.name)
    if function.unit == "Angle":
        return f"{physical_from_raw(function, raw):.1f}°"
    return f"{_percent(control, raw)} %"


def _percent(control: Control, raw: int) -> int:
    return int(100 * raw / control.maximum + 0.5)
