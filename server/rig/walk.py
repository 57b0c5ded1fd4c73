"""A gentle walk through what a unit can do, to see whether each part of it works."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from server.rig.profile import INTENSITY, Control, Function, Mode
from server.rig.values import raw_from_fraction

__all__ = ["STRIDE_S", "Stride", "walk"]

STRIDE_S = 1.2  # from one to the next: whatever it shows, light changes less than once a second
SWING = 0.04  # of the whole travel, some 20 degrees of pan: seen from the floor, and nothing is hit
SWING_S = 2.0
TURN = 0.25  # of the travel of what moves inside the unit
SOFT_S = 0.5
LOW = 0.3  # of the level it is lit at
LIGHT = re.compile(r"ColorAdd_|ColorSub_|ColorRGB_")
WHEEL = re.compile(r"(Color|Gobo|Prism)\d+$")
PART = re.compile(r"(Zoom|Focus\d*|Iris|Frost\d+|CTO|CTB|CTC)$")
ULTRAVIOLET = "ColorAdd_UV"  # harms skin and eyes, and is not looked into


@dataclass(frozen=True, slots=True)
class Stride:
    """One step of it. what: the key of the control that is tried; "" for the end, where all is as it was.

    raws: by control key, what changes from the stride before. moves: the whole unit swings.
    """

    what: str
    raws: dict[str, int]
    moves: bool = False
    fade_s: float = SOFT_S


def walk(mode: Mode, lit: Mapping[str, int], moving: bool = True) -> tuple[Stride, ...]:
    """Every control of the mode tried alone, one after the other, and all back as it was in the end.

    lit: raw values of all controls while the unit is lit up. moving: also what makes it swing.

    Nothing guarded, no lamp, reset or other action, and nothing that strobes is ever touched; what has no
    attribute named here stays as it is.
    """
    strides: list[Stride] = []
    before: dict[str, int] = {}
    for tried in _tried(mode, lit):
        if (tried.moves and not moving) or not _harmless(mode, {**lit, **tried.raws}, tried.raws):
            continue
        raws = {**before, **tried.raws}
        strides.append(Stride(tried.what, raws, tried.moves, tried.fade_s))
        before = {key: lit[key] for key in tried.raws}
        if tried.moves:  # it has swung back before anything else is tried
            strides.append(Stride(tried.what, before, True, tried.fade_s))
            before = {}
    return (*strides, Stride("", before)) if strides else ()


def _tried(mode: Mode, lit: Mapping[str, int]) -> Iterator[Stride]:
    controls = [c for c in mode.controls if c.guard is None and not any(f.action for f in c.functions)]
    colours = [c for c in controls if LIGHT.match(c.attribute)]
    for control in controls:
        key, now = control.key, lit[control.key]
        if control.attribute == INTENSITY:
            yield Stride(key, {key: raw_from_fraction(LOW * now / control.maximum, control.maximum)})
        elif control.attribute in ("Pan", "Tilt"):
            yield Stride(key, {key: _aside(control, now, SWING)}, True, SWING_S)
        elif LIGHT.match(control.attribute) and control.attribute != ULTRAVIOLET:
            yield Stride(key, _alone(control, colours))
        elif WHEEL.match(control.attribute):
            if (place := _another_place(control, now)) is not None:
                yield Stride(key, {key: place})
        elif PART.match(control.attribute):
            yield Stride(key, {key: _aside(control, now, TURN)})


def _aside(control: Control, now: int, share: float) -> int:
    """So far towards the middle: away from the end stop that it may stand at."""
    by = raw_from_fraction(share, control.maximum)
    return now - by if now > control.maximum // 2 else now + by


def _alone(control: Control, colours: list[Control]) -> dict[str, int]:
    """That colour alone: of the same cell the others out."""
    family = control.attribute.partition("_")[0]
    same = [c for c in colours if c.cell == control.cell and c.attribute.startswith(family)]
    return {c.key: c.maximum if c is control else 0 for c in same}


def _another_place(control: Control, now: int) -> int | None:
    """The middle of the next place of a wheel that stands still there."""
    places = [
        (piece.first + piece.last) // 2
        for function in control.functions
        if _stands(control, function)
        for piece in function.ranges
        if not piece.first <= now <= piece.last
    ]
    return places[0] if places else None


def _stands(control: Control, function: Function) -> bool:
    return function.attribute == control.attribute and not function.strobes and function.mode_master is None


def _harmless(mode: Mode, values: Mapping[str, int], raws: Mapping[str, int]) -> bool:
    masters = {f.mode_master.control for c in mode.controls for f in c.functions if f.mode_master}
    if masters & raws.keys():
        return False  # it would change what another control does
    doing = (f for c in mode.controls if c.key in raws for f in mode.doing(c, values))
    return not any(f.strobes or f.action for f in doing)
