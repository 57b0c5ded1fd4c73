"""A slot chart pasted from a manual as a draft of a profile, and by line what could not be taken from it.

Nothing is guessed to be harmless: what makes fog, feeds power or works a lamp is guarded in the draft, and
so is what nobody here knows the words of.
"""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from server.paperwork.chart_functions import MADE, functions_of, values_of
from server.paperwork.chart_rows import Row, rows_in
from server.paperwork.chart_words import NOTHING, UNKNOWN, Meaning, is_fine, meaning_of, plain
from server.paperwork.problems import Problem
from server.paperwork.refused import refusal

__all__ = ["CHART_MOST", "draft_of"]

CHART_MOST = 200_000  # characters; the longest manuals print a tenth of it
WIDEST = 4
PLAIN = Meaning(UNKNOWN, "other", counts=True)
GUARDS_ALL = ("fog", "haze", "fan")  # a unit with one of these is guarded whole; a light's own fan is not
LIGHTS = re.compile(r"Dimmer|ColorAdd_|Pan|Tilt|Shutter")
CELLS = re.compile(r"Dimmer|ColorAdd_|ColorSub_|CTC|CTO|Shutter1")


@dataclass(slots=True)
class Part:
    """What the chart says of one control. slots: coarse first. pieces: of its range, by line."""

    line: int
    name: str
    slots: list[int]
    pieces: list[Row] = field(default_factory=list)


def draft_of(text: str, name: str = "", maker: str = "") -> tuple[dict[str, Any] | None, list[Problem]]:
    """A profile as its file format has it, with one mode, and what is to be looked at, `where`: the line.

    The draft may have problems that `profile_checks.problems_of` names; None where nothing of it can be
    used, or where it is of a kind that is never driven. Never raises, whatever the text.
    """
    if len(text) > CHART_MOST:
        return None, [Problem("", f"The chart is longer than {CHART_MOST // 1000},000 characters.")]
    found: list[Problem] = []
    parts = _parts(text, found)
    if not parts:
        return None, [*found, Problem("", "No line of it says which slot does what.")]
    hazards = (why for why in (refusal(words) for words in (name, *(part.name for part in parts))) if why)
    if hazard := next(hazards, None):
        return None, [Problem("", hazard)]
    _widened(parts, found)
    controls = [*_controls(parts, found)]
    footprint = max(slot for control in controls for slot in control["offset"])
    controls += _fillers(controls, footprint, found)
    controls.sort(key=lambda control: control["offset"][0])
    title = " ".join(name.split())[:80] or "Profile from a chart"
    draft: dict[str, Any] = {"schema": 1, "key": _key(maker, title), "name": title, "short_name": title[:20]}
    draft |= {"maker": " ".join(maker.split())[:80] or "Own", "revision": 1, "kind": "light"}
    draft |= _guarded(controls)
    draft["modes"] = [{"name": f"{footprint}-slot", "footprint": footprint, "controls": controls}]
    return draft, found


def _key(maker: str, name: str) -> str:
    bare = re.sub(r"[^a-z0-9]+", "-", f"{maker} {name}".casefold()).strip("-")
    return bare[:70].strip("-") or "own"


def _parts(text: str, found: list[Problem]) -> list[Part]:
    """The controls in the order of the chart; a fine slot joins the coarse one that it belongs to."""
    parts: list[Part] = []
    for row in rows_in(text):
        if isinstance(row, tuple):
            found.append(Problem(f"line {row[0]}", row[1]))
        elif row.slots:
            _of_slots(row, parts, found)
        else:
            _going_on(row, parts, found)
    return parts


def _going_on(row: Row, parts: list[Part], found: list[Problem]) -> None:
    """A line without a slot is about the one before it."""
    if not parts:
        found.append(Problem(f"line {row.line}", "It comes before any slot and is left out."))
    elif row.span is None:
        found.append(
            Problem(f"line {row.line}", f'"{(row.name or row.what)[:60]}" names no values, left out.')
        )
    else:
        parts[-1].pieces.append(row)


def _of_slots(row: Row, parts: list[Part], found: list[Problem]) -> None:
    name = row.name or row.what
    again = next((p for p in parts if set(row.slots) & set(p.slots)), None)
    if again is not None and again is parts[-1] and row.span is not None:
        again.pieces.append(row)  # the slot is written on every line of it
    elif is_fine(name) and (coarse := _coarse_of(parts, name, row)) is not None:
        coarse.slots += row.slots
        if row.span not in (None, (0, 255), (0, 100)):
            found.append(Problem(f"line {row.line}", "What parts of a fine slot do is left out."))
    else:
        if again is not None:
            found.append(Problem(f"line {row.line}", f"Slot {row.slots[0]} is {again.name[:60]} already."))
        parts.append(Part(row.line, name, list(row.slots)))
        if row.span is not None:
            parts[-1].pieces.append(row)


def _coarse_of(parts: list[Part], name: str, row: Row) -> Part | None:
    wanted = _stem(name)
    for part in reversed(parts):
        if (_stem(part.name) == wanted or not wanted) and len(part.slots) + len(row.slots) <= WIDEST:
            return None if set(part.slots) & set(row.slots) else part
    return None


def _stem(name: str) -> str:
    """Without what stands in brackets, and without degrees."""
    return re.sub(r"\(.*?\)|\d+\s*(°|deg\w*|grad)|[^\w]+", " ", plain(name)).strip()


def _widened(parts: list[Part], found: list[Problem]) -> None:
    """One that is called 16 bit and stands on one slot takes the next one, where nothing else does."""
    taken = {slot for part in parts for slot in part.slots}
    for part in parts:
        after = part.slots[-1] + 1
        is_16 = re.search(r"\b16[\s-]?bit\b", part.name.casefold())
        if len(part.slots) == 1 and is_16 and after not in taken and after <= 512:
            part.slots.append(after)
            taken.add(after)
            found.append(
                Problem(f"line {part.line}", f"As it is 16 bit, slot {after} is taken as its fine one.")
            )


def _controls(parts: list[Part], found: list[Problem]) -> Iterator[MADE]:
    counted: Counter[str] = Counter()
    numbered: set[tuple[str, str | None]] = set()
    for part in parts:
        meaning = meaning_of(part.name)
        if meaning is None:
            meaning = PLAIN
            why = f'"{part.name[:60]}" is not known here: guarded until somebody says what it is.'
            found.append(Problem(f"line {part.line}", why))
        attribute, cell = _named(meaning, part.name, counted, numbered)
        made: MADE = {"attribute": attribute, "offset": part.slots}
        if cell:
            made["cell"] = cell
        functions, guard = functions_of(attribute, part.name, part.pieces, len(part.slots), found)
        made |= values_of(attribute, functions, len(part.slots))
        reason = guard if guard == "lamp" else meaning.guard or guard
        if reason:
            made["guarded"] = {"reason": reason, "safe": made["home"]}
        if attribute.startswith(("Color", "Gobo", "Prism", "Control", "Shutter")) and part.pieces:
            made["snap"] = attribute[-3:] != "Pos"
        yield made | {"functions": functions}


def _named(
    meaning: Meaning, name: str, counted: Counter[str], numbered: set[tuple[str, str | None]]
) -> tuple[str, str | None]:
    """The attribute with its number, and the cell where the same attribute stands there several times."""
    base = meaning.attribute
    said = re.search(r"(?<![\d.])(\d{1,3})(?![\d.%°])", plain(name))
    if base == "Blade":
        found = re.search(r"(\d)\s*([ab])?\b", plain(name))
        number = found[1] if found else str(counted[base] // 2 + 1)
        side = (found[2] or "").upper() if found else ""
        counted[base] += 1
        turns = re.search(r"rot|angle|winkel|dreh", plain(name))
        attribute = f"Blade{number}{'Rot' if turns else side or 'A'}"
    elif meaning.counts:
        stem = base.removesuffix("Pos")
        suffix = base.removeprefix(stem)
        number = said[1] if said and 0 < int(said[1]) < 10 else ""
        attribute = f"{stem}{number or 1}{suffix}"
        while (attribute, None) in numbered:
            counted[base] += 1
            attribute = f"{stem}{counted[base] + 1}{suffix}"
    else:
        attribute = base
    cell = None
    if attribute != NOTHING and CELLS.match(attribute) and said and int(said[1]) > 0:
        cell = said[1]
    number_of = 1
    while attribute != NOTHING and (attribute, cell) in numbered:
        number_of += 1
        cell = str(number_of)
    numbered.add((attribute, cell))
    return attribute, cell


def _fillers(controls: list[MADE], footprint: int, found: list[Problem]) -> Iterator[MADE]:
    bare = sorted(set(range(1, footprint + 1)) - {slot for c in controls for slot in c["offset"]})
    for slot in bare:
        found.append(Problem(f"slot {slot}", "Nothing says what it does; it stays at 0."))
        nothing = {"attribute": NOTHING, "name": "Not described", "dmx": [0, 255]}
        yield {"attribute": NOTHING, "offset": [slot], "default": 0, "home": 0, "functions": [nothing]}


def _guarded(controls: list[MADE]) -> MADE:
    """A unit with fog, haze or a fan is guarded as a whole; each control is pinned at its own rest."""
    reasons = [c["guarded"]["reason"] for c in controls if "guarded" in c]
    is_light = any(LIGHTS.match(c["attribute"]) for c in controls)
    reason = next((r for r in reasons if r in GUARDS_ALL and not (r == "fan" and is_light)), None)
    if reason is None:
        return {}
    for control in controls:
        control.setdefault("guarded", {"reason": reason, "safe": control["home"]})
    return {"kind": "atmosphere", "guarded": {"reason": reason, "safe": 0}}
