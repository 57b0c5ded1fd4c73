"""Focus, looks and where movers point, as tables of a hand-over pack."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from datetime import datetime

from server.paperwork.csv import guarded
from server.rig.patch import Fixture
from server.rig.plan import by_hanging
from server.rig.profile import Control
from server.rig.values import fraction_from_raw, physical_from_raw
from server.stage.focus import Focus, FocusNote
from server.stage.state import State

__all__ = ["write_focus", "write_looks", "write_positions"]

Cell = str | int | float
WHERE = ("Channel", "Position", "Unit", "Purpose")
VALUE = ("Control", "Fraction", "Raw", "Physical", "Physical unit")
NOTES = tuple(each.name for each in fields(FocusNote))
SAID = {"words": "Notes"}


def write_focus(state: State) -> str:
    """A row for each control of a unit as it was when it was done; one row for a unit with notes only.

    Notes stand in its first row.
    """
    heads = [*WHERE, "Mark", "By", "At", *(SAID.get(name, name.capitalize()) for name in NOTES), *VALUE]
    return _table(heads, _focus_rows(state))


def _focus_rows(state: State) -> Iterator[list[Cell]]:
    for unit in by_hanging(state.fixtures.values()):
        focus = state.focus.get(unit.id)
        if focus is None and unit.id not in state.order:
            continue
        focus = focus or Focus()
        at = datetime.fromtimestamp(focus.at).astimezone().isoformat(" ", "seconds") if focus.at else ""
        about = [focus.mark, focus.name, at, *(getattr(focus.note, name) for name in NOTES)]
        for value in list(_values(state, unit, focus.values)) or [[""] * len(VALUE)]:
            yield [*_where(unit), *about, *value]
            about = [focus.mark, *[""] * (len(about) - 1)]


def write_looks(state: State) -> str:
    """A row for each control of each unit in each look."""
    return _table(["Look", *WHERE, *VALUE], _look_rows(state, moves_only=False))


def write_positions(state: State) -> str:
    """The same of what makes units swing or travel."""
    return _table(["Look", *WHERE, *VALUE], _look_rows(state, moves_only=True))


def _look_rows(state: State, moves_only: bool) -> Iterator[list[Cell]]:
    units = list(by_hanging(state.fixtures.values()))
    for look in state.looks.values():
        for unit in units:
            for value in _values(state, unit, look.values.get(unit.id, {}), moves_only):
                yield [look.name, *_where(unit), *value]


def _where(unit: Fixture) -> list[Cell]:
    return ["" if unit.channel is None else unit.channel, unit.position, unit.unit, unit.purpose]


def _values(
    state: State, unit: Fixture, raws: Mapping[str, int], moves_only: bool = False
) -> Iterator[list[Cell]]:
    """Each control by its key: its share of the range, raw, and what that is in the profile's own unit."""
    mode = state.mode(unit.id)
    for control in mode.controls if mode else ():
        if control.key in raws and (control.moves or not moves_only):
            raw = raws[control.key]
            share = round(fraction_from_raw(raw, control.maximum), 6)
            yield [control.key, share, raw, *_physical(control, raw)]


def _physical(control: Control, raw: int) -> Sequence[Cell]:
    function = control.function_at(raw)
    if function is None or function.unit == "None":
        return "", ""
    return round(physical_from_raw(function, raw), 4), function.unit


def _table(heads: Iterable[str], rows: Iterable[Iterable[Cell]]) -> str:
    """As CSV (RFC 4180). Text that a spreadsheet would run as a formula is behind an apostrophe."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(heads)
    writer.writerows([guarded(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return out.getvalue()
