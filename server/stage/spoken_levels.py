"""Values of a fixture as a person says them: "Dimmer 40 %, Pan -12°"."""

from collections.abc import Iterable

from server.rig.profile import Control, Mode
from server.rig.said import Fact, Said
from server.rig.values import physical_from_raw
from server.stage.state import State

__all__ = ["levels", "spoken_values"]

MOST = 3  # more than that nobody reads on a phone


def levels(state: State, fixture: str, keys: Iterable[str]) -> Fact:
    """What is asked of these controls now."""
    mode = state.mode(fixture)
    if mode is None:
        return ""
    asked = state.asked(fixture, mode)
    return spoken_values(mode, {key: asked[key] for key in keys if key in asked})


def spoken_values(mode: Mode, values: dict[str, int]) -> Fact:
    """Raw values by control key, the first few of them."""
    known = [(control, values[control.key]) for control in mode.controls if control.key in values]
    shown = ", ".join(f"{control.key} {_value(control, raw)}" for control, raw in known[:MOST])
    more = len(known) - MOST
    return Said("{values} and {count} more", values=shown, count=more) if more > 0 else shown


def _value(control: Control, raw: int) -> str:
    function = control.function_at(raw)
    if function is not None:
        named = next((r.name for r in function.ranges if r.first <= raw <= r.last and r.name), None)
        if named is not None:
            return named
        if function.unit == "Angle":
            return f"{physical_from_raw(function, raw):.0f}°"
    return f"{100 * raw / control.maximum:.0f} %"
