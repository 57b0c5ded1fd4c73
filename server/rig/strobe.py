"""How fast a function makes light flash, how fast it may, and what holds it steady."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.rig.profile import Control, Function, Mode
from server.rig.values import physical_from_raw

__all__ = ["LIFTED_BELOW_HZ", "MOST_HZ", "Strobes", "flash_rate", "lay_strobes"]

MOST_HZ = 3.0  # WCAG 2.2, 2.3.1: no more than three flashes in any one second, of the whole rig together
LIFTED_BELOW_HZ = 5.0  # of one fixture that the lead has named; common practice for theatres, no source
ANY = (0, 2**32)  # a function that depends on no other control

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


def flash_rate(function: Function, raw: int) -> float:
    """Flashes a second at that raw value: 0 where it does not flash, infinite where nobody knows.

    The profile's figure is taken for what it is: a maker's scale, no measurement.
    Source: DIN SPEC 15800:2022-02 (GDTF), Annex A (Shutter(n)Strobe...), PhysicalUnit Frequency.
    """
    if not function.strobes:
        return 0.0
    if function.unit != "Frequency":
        return math.inf
    return abs(physical_from_raw(function, raw))


@dataclass(frozen=True, slots=True)
class Strobes:
    """Every way in which a fixture of the rig can flash by itself, one entry each.

    row: its control. by, first, last: the control it depends on and the raw values it needs there; by is its
    own row where it depends on none. table: which line of `rate` holds. rate: (tables, 256) flashes a second
    by coarse byte. fixture: index of the fixture. pin, steady: the row to hold, and the raw value there that
    ends the flashing.
    """

    row: Ints
    by: Ints
    first: Ints
    last: Ints
    table: Ints
    rate: Floats
    fixture: Ints
    pin: Ints
    steady: Ints
    maximum: Ints

    def rates(self, raw: Ints) -> Floats:
        """(entries,) flashes a second at these raw values of all controls; 0 where it does not flash."""
        coarse = raw[self.row] * 256 // (self.maximum + 1)
        on = (self.first <= raw[self.by]) & (raw[self.by] <= self.last)
        return np.where(on, self.rate[self.table, coarse], 0.0)


def lay_strobes(modes: Sequence[tuple[Mode, int]]) -> Strobes:
    """The table for fixtures in these modes. modes: each fixture's mode and the row of its first control."""
    entries: list[tuple[int, ...]] = []
    tables: list[list[float]] = []
    known: dict[int, list[tuple[int, int, int, int, int, int, int]]] = {}
    for index, (mode, start) in enumerate(modes):
        if id(mode) not in known:
            known[id(mode)] = _of_mode(mode, tables)
        for own, by, first, last, table, pin, steady in known[id(mode)]:
            maximum = mode.controls[own].maximum
            entries.append((start + own, start + by, first, last, table, index, start + pin, steady, maximum))
    at = np.array(entries, np.int64).reshape(-1, 9).T
    rate = np.array(tables, np.float64).reshape(-1, 256)
    return Strobes(at[0], at[1], at[2], at[3], at[4], rate, at[5], at[6], at[7], at[8])


def _of_mode(mode: Mode, tables: list[list[float]]) -> list[tuple[int, int, int, int, int, int, int]]:
    at = {control.key: index for index, control in enumerate(mode.controls)}
    found = []
    for index, control in enumerate(mode.controls):
        for master in dict.fromkeys(f.mode_master for f in control.functions if f.strobes):
            functions = [f for f in control.functions if f.strobes and f.mode_master == master]
            tables.append(_by_byte(control, functions))
            by = at.get(master.control, index) if master else index
            first, last = (master.first, master.last) if master else ANY
            pinned = mode.controls[by]
            found.append(
                (index, by, first, last, len(tables) - 1, by, _steady(pinned, _banned(mode, pinned)))
            )
    return found


def _by_byte(control: Control, functions: Sequence[Function]) -> list[float]:
    shift = 8 * (control.width - 1)
    table = [0.0] * 256
    for function in functions:
        for byte in range(function.first >> shift, (function.last >> shift) + 1):
            ends = max(byte << shift, function.first), min((byte + 1 << shift) - 1, function.last)
            table[byte] = max(table[byte], *(flash_rate(function, raw) for raw in ends))
    return table


def _banned(mode: Mode, control: Control) -> list[tuple[int, int]]:
    """Raw values of that control at which something of the mode flashes, or an action starts."""
    own = [(f.first, f.last) for f in control.functions if f.action or (f.strobes and f.mode_master is None)]
    masters = (f.mode_master for c in mode.controls for f in c.functions if f.strobes and f.mode_master)
    return [*own, *((m.first, m.last) for m in masters if m.control == control.key)]


def _steady(control: Control, banned: Sequence[tuple[int, int]]) -> int:
    """A raw value that is none of these: home, else open, else the first there is."""
    opened = [r.first for f in control.functions for r in f.ranges if "open" in r.name.casefold()]
    whole = [f.last for f in control.functions if not f.strobes and f.action is None]
    starts = [0, *(last + 1 for _, last in banned)]
    for raw in (control.home, *opened, *whole, *starts):
        if raw <= control.maximum and not any(first <= raw <= last for first, last in banned):
            return raw
    return control.home
