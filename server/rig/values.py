"""Fraction, raw and physical value of one control, and the way between them."""

import math
import sys
from collections.abc import Mapping, Sequence
from functools import reduce

from server.rig.profile import Control, Function, Range
from server.rig.said import Said

__all__ = [
    "NotAValueError",
    "fraction_from_raw",
    "physical_from_raw",
    "raw_from_fraction",
    "raw_from_physical",
    "raw_from_value",
]

LARGEST = sys.float_info.max  # JSON has longer whole numbers, which no float can hold
LONGEST = 20  # digits of such a number that a sentence repeats


class NotAValueError(ValueError):
    """What was asked for is no value of that control; `why` says so to the person who asked."""

    def __init__(self, why: Said) -> None:
        super().__init__(why)
        self.why = why


def raw_from_fraction(fraction: float, maximum: int) -> int:
    """Whole number nearest to that share of the range, halves up: floor(fraction * maximum + 0.5).

    fraction: 0..1. Raises ValueError: not a number, or outside 0..1; nothing is pulled into range.
    """
    if not (isinstance(fraction, int | float) and 0 <= fraction <= 1):
        raise ValueError(f"{str(fraction)[:LONGEST]} is not between 0 and 1")
    return math.floor(fraction * maximum + 0.5)


def fraction_from_raw(raw: int, maximum: int) -> float:
    """Share of the range, 0..1; `raw_from_fraction` gives `raw` back for every width up to 32 bit."""
    return raw / maximum


def physical_from_raw(function: Function, raw: int) -> float:
    """Value in the function's unit at `raw`, on the straight line of its range or of the function.

    Source: DIN SPEC 15800:2022-02 (GDTF), ChannelFunction and ChannelSet PhysicalFrom/PhysicalTo.
    """
    first, last, (start, end) = function.span_at(raw)
    return start if last == first else start + (raw - first) * (end - start) / (last - first)


def raw_from_physical(function: Function, physical: float) -> int:
    """Raw value at which the function reaches `physical`, rounded half up.

    Raises ValueError: outside what the function can do.
    """
    spans = [(r.first, r.last, r.physical) for r in function.ranges if r.physical is not None]
    for first, last, (start, end) in [*spans, (function.first, function.last, function.physical)]:
        if min(start, end) <= physical <= max(start, end):
            if start == end:
                return first
            raw = math.floor(first + (physical - start) * (last - first) / (end - start) + 0.5)
            # The function's own line does not hold inside a range that has one of its own ("stop").
            if function.span_at(raw)[:2] == (first, last):
                return raw
    low, high = sorted(function.physical)
    raise ValueError(f"{function.name} goes from {low:g} to {high:g}, not {physical:g}")


def raw_from_value(control: Control, value: object) -> int:
    """What somebody asked for, as a raw value of that control.

    value: a fraction 0..1 of the control's whole range, or {"raw": n}, {"physical": x} (with
    "function": name where several could mean it), {"range": "name"} (its middle).
    Raises NotAValueError with a sentence for the person who asked.
    """
    if isinstance(value, bool) or value is None:
        raise NotAValueError(Said("{control} needs a number.", control=control.key))
    if isinstance(value, int | float):
        try:
            return raw_from_fraction(value, control.maximum)
        except ValueError:
            raise NotAValueError(
                Said(
                    "{control}: {value} is not between 0 and 1.",
                    control=control.key,
                    value=str(value)[:LONGEST],
                )
            ) from None
    if isinstance(value, Mapping):
        return _raw_from_object(control, value)
    raise NotAValueError(
        Said("{control} needs a number from 0 to 1, or raw, physical or range.", control=control.key)
    )


def _raw_from_object(control: Control, value: Mapping[str, object]) -> int:
    match value:
        case {"raw": int(raw)} if not isinstance(raw, bool):
            if not 0 <= raw <= control.maximum:
                raise NotAValueError(
                    Said(
                        "{control} takes 0 to {most}, not {value}.",
                        control=control.key,
                        most=control.maximum,
                        value=str(raw)[:LONGEST],
                    )
                )
            return raw
        case {"physical": int() | float() as wanted} if (
            not isinstance(wanted, bool) and abs(wanted) <= LARGEST
        ):
            return _raw_from_physical(control, wanted, value.get("function"))
        case {"range": str(name)}:
            return _middle(_range_named(control, name))
    raise NotAValueError(
        Said("{control} needs a number from 0 to 1, or raw, physical or range.", control=control.key)
    )


def _raw_from_physical(control: Control, wanted: float, name: object) -> int:
    able = [f for f in control.functions if name in (None, f.name, f.attribute) and f.action is None]
    for function in able:
        try:
            return raw_from_physical(function, wanted)
        except ValueError:
            continue
    raise NotAValueError(
        Said(
            "{control} cannot do {wanted} ({reach}).",
            control=control.key,
            wanted=float(wanted),
            reach=_reach(able),
        )
    )


def _reach(able: Sequence[Function]) -> Said:
    """What these functions go to, in words."""
    if not able:
        return Said("no such function")
    ends = (Said("{what} {low} to {high}", what=f.name, low=f.physical[0], high=f.physical[1]) for f in able)
    return reduce(lambda some, more: Said("{some}; {more}", some=some, more=more), ends)


def _range_named(control: Control, name: str) -> Range | Function:
    wanted = name.casefold()
    for function in control.functions:
        pieces: tuple[Range | Function, ...] = (function, *function.ranges)
        for piece in pieces:
            if piece.name.casefold() == wanted:
                return piece
    raise NotAValueError(Said('{control} has no range called "{name}".', control=control.key, name=name))


def _middle(piece: Range | Function) -> int:
    return (piece.first + piece.last) // 2
