"""The rig as flat arrays: one row per control, one entry per slot byte."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from server.rig.patch import Fixture, mode_of, spans
from server.rig.profile import INTENSITY, Control, Mode, Profile
from server.rig.strobe import Strobes, lay_strobes
from server.rig.universe import SLOTS, OffLimits
from server.rig.values import physical_from_raw

__all__ = ["Bools", "Compiled", "Floats", "Ints", "compile_rig"]

SHUTTER = re.compile(r"Shutter\d+$")

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Compiled:
    """Everything a frame needs, by row. Raw values are float64: exact up to 32 bit, and they can fade.

    names: (rows) fixture id and control key. span: first row and row after the last, by fixture id.
    home, maximum, safe: raw. scaler: row of the virtual intensity that scales this row, or -1. intensity:
    gives light. mastered: master acts. dark: blackout acts. shows: counts for the level a fixture is said to
    be at, and the cap acts. snap, guarded, inverted: flags. capped, scaled, guards, turned: the few rows that
    have a cap below full, a scaler, a guard, or count down. limit: raw, that those capped stay below.
    starts: (fixtures,) first rows. lights: intensities that leave as such, not by scaling colours. emits:
    additive colour. filters: subtractive colour, where a fixture has all three. level_rest, colour_rest,
    filter_rest: what rows that are none of these stand for when the strongest of a fixture is sought: 0, or 1
    where it has none. shutters, opens, openness: rows of shutters, which table each goes by, and (tables,
    256) how far that is open by its coarse byte.
    slot_at: index into universes * 512; slot_row, slot_shift: the row and the bits that land there.
    owned: (universes, 512), the row that a slot belongs to, or -1. pinned: (universes, 512), off limits.
    strobes: what can flash by itself.
    """

    names: tuple[tuple[str, str], ...]
    controls: tuple[Control, ...]
    row: dict[tuple[str, str], int]
    span: dict[str, tuple[int, int]]
    starts: Ints
    universes: tuple[int, ...]
    home: Floats
    maximum: Floats
    safe: Floats
    scaler: Ints
    intensity: Bools
    shows: Bools
    mastered: Bools
    dark: Bools
    snap: Bools
    guarded: Bools
    inverted: Bools
    capped: Ints
    limit: Floats
    scaled: Ints
    guards: Ints
    turned: Ints
    lights: Bools
    emits: Bools
    filters: Bools
    level_rest: Floats
    colour_rest: Floats
    filter_rest: Floats
    shutters: Ints
    opens: Ints
    openness: Floats
    slot_at: Ints
    slot_row: Ints
    slot_shift: Ints
    owned: Ints
    pinned: Bools
    strobes: Strobes

    def universe_index(self, universe: int) -> int | None:
        """Where that universe lies in the frame, or None when nothing is patched or opened there."""
        return self.universes.index(universe) if universe in self.universes else None


def compile_rig(
    fixtures: Iterable[Fixture],
    profiles: Mapping[str, Profile],
    also: Iterable[int] = (),
    off_limits: Iterable[OffLimits] = (),
) -> Compiled:
    """Lay the rig out flat. also: universes wanted although no fixture is there.

    A fixture whose profile or mode is unknown, or that is not patched, gets rows without slots or none.
    """
    units = [(f, mode) for f in fixtures if (mode := mode_of(f, profiles)) is not None]
    patched = {universe for f, _ in units for universe in f.universes}
    universes = tuple(sorted(patched | set(also)))
    names: list[tuple[str, str]] = []
    controls: list[Control] = []
    owners: list[Fixture] = []
    span: dict[str, tuple[int, int]] = {}
    for fixture, mode in units:
        span[fixture.id] = (len(names), len(names) + len(mode.controls))
        names += [(fixture.id, c.key) for c in mode.controls]
        controls += mode.controls
        owners += [fixture] * len(mode.controls)
    row = {name: at for at, name in enumerate(names)}
    guarded_units = {f.id for f, _ in units if f.guarded or profiles[f.profile].guard is not None}
    slot_at, slot_row, slot_shift = _slots(units, span, universes)
    owned = np.full(len(universes) * SLOTS, -1, np.int64)
    owned[slot_at] = slot_row
    shutters = [row for row, control in enumerate(controls) if SHUTTER.match(control.attribute)]
    opens, openness = _opening([controls[row] for row in shutters])
    starts = np.array([a for a, _ in span.values()], np.int64)
    shows = np.array([s for _, mode in units for s in _shows(mode)], np.bool_)
    emits = np.array([c.attribute.startswith("ColorAdd_") for c in controls], np.bool_)
    filters = np.array([s for _, mode in units for s in _filters(mode)], np.bool_)
    scaler = _scalers(units, row)
    lights = shows.copy()
    lights[scaler[scaler >= 0]] = False
    intensity = np.array([_is_intensity(c) for c in controls], np.bool_)
    grand = np.array(
        [c.mastered and not f.work_light for c, f in zip(controls, owners, strict=True)], np.bool_
    )
    guarded = np.array(
        [c.guard is not None or f.id in guarded_units for c, f in zip(controls, owners, strict=True)],
        np.bool_,
    )
    inverted = np.array([f.turns(c) for c, f in zip(controls, owners, strict=True)], np.bool_)
    maximum = np.array([c.maximum for c in controls], np.float64)
    cap = np.array([f.cap for f in owners], np.float64)
    capped = np.flatnonzero((cap < 1) & shows)
    return Compiled(
        names=tuple(names),
        controls=tuple(controls),
        row=row,
        span=span,
        starts=starts,
        universes=universes,
        home=np.array([c.home for c in controls], np.float64),
        maximum=maximum,
        safe=np.array([c.guard.safe if c.guard else c.home for c in controls], np.float64),
        scaler=scaler,
        intensity=intensity,
        shows=shows,
        mastered=grand & np.array([g for _, mode in units for g in _graded(mode)], np.bool_),
        dark=grand & ~guarded,
        snap=np.array([c.snap for c in controls], np.bool_),
        guarded=guarded,
        inverted=inverted,
        capped=capped,
        limit=(cap * maximum)[capped],
        scaled=np.flatnonzero(scaler >= 0),
        guards=np.flatnonzero(guarded),
        turned=np.flatnonzero(inverted),
        lights=lights,
        emits=emits,
        filters=filters,
        level_rest=_rest(lights, starts),
        colour_rest=_rest(emits, starts),
        filter_rest=_rest(filters, starts),
        shutters=np.array(shutters, np.int64),
        opens=opens,
        openness=openness,
        slot_at=slot_at,
        slot_row=slot_row,
        slot_shift=slot_shift,
        owned=owned.reshape(len(universes), SLOTS),
        pinned=_pinned(universes, off_limits),
        strobes=lay_strobes([(mode, span[fixture.id][0]) for fixture, mode in units]),
    )


def _is_intensity(control: Control) -> bool:
    return control.mastered or control.attribute == INTENSITY


def _shows(mode: Mode) -> list[bool]:
    # Where a unit has one intensity above those of its cells, light leaves only as far as that one is up.
    whole = any(_is_intensity(c) and c.cell is None for c in mode.controls)
    return [_is_intensity(c) and (c.cell is None or not whole) for c in mode.controls]


def _filters(mode: Mode) -> list[bool]:
    # Two of the three leave a colour that passes unhindered; all three together can take the light.
    whole = {"ColorSub_C", "ColorSub_M", "ColorSub_Y"} <= {c.attribute for c in mode.controls}
    return [whole and c.attribute.startswith("ColorSub_") for c in mode.controls]


def _graded(mode: Mode) -> list[bool]:
    # Nor does the master act on both: at half, the cells of such a unit would be down to a quarter.
    whole = any(c.mastered and c.cell is None for c in mode.controls)
    return [c.mastered and (c.cell is None or not whole) for c in mode.controls]


def _pinned(universes: tuple[int, ...], off_limits: Iterable[OffLimits]) -> Bools:
    pinned = np.zeros((len(universes), SLOTS), np.bool_)
    for limit in off_limits:
        if limit.universe in universes:
            pinned[universes.index(limit.universe), limit.first - 1 : limit.last] = True
    return pinned


def _rest(mask: Bools, starts: Ints) -> Floats:
    if not len(starts):
        return np.zeros(0)
    has = np.logical_or.reduceat(mask, starts)
    return np.repeat(np.where(has, 0.0, 1.0), np.diff(starts, append=len(mask)))


def _opening(shutters: Sequence[Control]) -> tuple[Ints, Floats]:
    """Which table each shutter goes by, and the tables. Units of one mode share its controls, and theirs."""
    known: dict[int, int] = {}
    tables: list[list[float]] = []
    for control in shutters:
        if id(control) not in known:
            known[id(control)] = len(tables)
            tables.append(_openness(control))
    opens = np.array([known[id(control)] for control in shutters], np.int64)
    return opens, np.array(tables, np.float64).reshape(-1, 256)


def _openness(control: Control) -> list[float]:
    """By coarse byte, 0..1 (GDTF Annex A: Shutter(n) 0 closed, 1 open). A strobe is open most of the time."""
    shift = 8 * (control.width - 1)
    functions = [(control.function_at(byte << shift), byte << shift) for byte in range(256)]
    return [
        min(1.0, max(0.0, physical_from_raw(f, raw))) if f and SHUTTER.match(f.attribute) else 1.0
        for f, raw in functions
    ]


def _scalers(units: list[tuple[Fixture, Mode]], row: dict[tuple[str, str], int]) -> Ints:
    scaler = np.full(len(row), -1, np.int64)
    for fixture, mode in units:
        for master, followers in mode.multiply.items():
            for key in followers:
                scaler[row[fixture.id, key]] = row[fixture.id, master]
    return scaler


def _slots(
    units: list[tuple[Fixture, Mode]], span: dict[str, tuple[int, int]], universes: tuple[int, ...]
) -> tuple[Ints, Ints, Ints]:
    index = {universe: at for at, universe in enumerate(universes)}

    def entries() -> Iterator[tuple[int, int, int]]:
        for fixture, mode in units:
            starts = {s.start: index[s.universe] * SLOTS + s.first - 1 for s in spans(fixture, mode)}
            for row, control in enumerate(mode.controls, span[fixture.id][0]):
                start = starts.get(control.start)
                for place, offset in enumerate(control.offsets if start is not None else ()):
                    yield (start or 0) + offset - 1, row, 8 * (control.width - 1 - place)

    # One column after the other, and never a list of 100,000 tuples on the way.
    at, row, shift = np.fromiter(chain.from_iterable(entries()), np.int64).reshape(-1, 3).T.copy()
    return at, row, shift
