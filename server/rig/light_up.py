"""Which values make one unit visible: open, white, at the level asked for, centred or as it hangs."""

import re

from server.rig.profile import INTENSITY, Control, Mode
from server.rig.values import physical_from_raw, raw_from_fraction

__all__ = ["light_up"]

SHUTTER = re.compile(r"Shutter\d+$")
PRIMARIES = {"ColorAdd_R", "ColorAdd_G", "ColorAdd_B"}
WHITES = {"ColorAdd_W", "ColorAdd_WW", "ColorAdd_CW"}
ULTRAVIOLET = "ColorAdd_UV"  # gives no light to work by and harms skin and eyes: never raised here


def light_up(mode: Mode, level: float, as_it_hangs: bool) -> dict[str, int]:
    """Raw values by control key that make a unit of this mode visible.

    level: 0..1, for its intensities; where one intensity stands above those of its cells, the cells
    are full. as_it_hangs: leave out what makes the unit swing, so that it stays where it points.

    Guarded controls and those with a reset or lamp action are left out, and no value lies on a
    function that strobes. White is chosen by attribute: red, green, blue and every white where the
    primaries are all there; else the whites alone; else everything that is not ultraviolet.

    Raises ValueError: level outside 0..1.
    """
    emitters = {c.attribute for c in mode.controls if c.attribute.startswith("ColorAdd_")}
    lit = _white(emitters)
    whole = any(c.attribute == INTENSITY and c.cell is None for c in mode.controls)
    values: dict[str, int] = {}
    for control in mode.controls:
        if control.guard or any(f.action for f in control.functions) or (as_it_hangs and control.moves):
            continue
        if control.attribute == INTENSITY:
            below = whole and control.cell is not None
            values[control.key] = _at(control, 1.0 if below else level)
        elif control.attribute in emitters:
            values[control.key] = _at(control, 1.0 if control.attribute in lit else 0.0)
        else:
            values[control.key] = _steady(control)
    return values


def _white(emitters: set[str]) -> set[str]:
    if emitters >= PRIMARIES:
        return PRIMARIES | WHITES
    return emitters & WHITES or emitters - {ULTRAVIOLET}


def _at(control: Control, share: float) -> int:
    # The first function that is what the control is called after: some intensities strobe higher up.
    for function in control.functions:
        if function.attribute == control.attribute and not function.strobes:
            start, end = function.physical
            up = share if end >= start else 1 - share
            return function.first + raw_from_fraction(up, function.last - function.first)
    return raw_from_fraction(share, control.maximum)


def _steady(control: Control) -> int:
    hint = control.highlight
    if control.moves or hint is None or any(f.strobes or f.action for f in control.functions_at(hint)):
        hint = control.home
    if SHUTTER.match(control.attribute):
        return next((raw for raw in (hint, control.home) if _is_open(control, raw)), _opened(control))
    return hint


def _is_open(control: Control, raw: int) -> bool:
    functions = control.functions_at(raw)
    return any(f.attribute == control.attribute and physical_from_raw(f, raw) >= 1 for f in functions)


def _opened(control: Control) -> int:
    """What is open in a shutter (GDTF Annex A: 0 closed, 1 open); home where the profile does not say."""
    for function in control.functions:
        if function.attribute != control.attribute:
            continue
        open_ranges = [r for r in function.ranges if r.physical is not None and min(r.physical) >= 1]
        open_ranges += [r for r in function.ranges if "open" in r.name.casefold()]
        if open_ranges:
            return (open_ranges[0].first + open_ranges[0].last) // 2
        if max(function.physical) >= 1:
            return function.last if function.physical[1] >= function.physical[0] else function.first
    return control.home
