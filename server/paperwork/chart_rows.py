"""A pasted slot chart cut into rows: which slots, which part of their range, and in what words."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["LINES_MOST", "Row", "rows_in"]

LINES_MOST = 4000
CELLS_MOST = 24
# By what a column holds, the headings seen in manuals, letters and digits only, English and German.
HEADINGS: dict[str, tuple[str, ...]] = {
    "slot": ("slot", "slots", "channel", "channels", "ch", "chan", "dmxchannel", "dmxch", "kanal", "kanäle",
             "kanaele", "dmxkanal", "no", "nr", "offset", "adresse", "address"),
    "from": ("from", "von", "start", "min", "first", "dmxfrom"),
    "to": ("to", "bis", "end", "ende", "max", "last", "dmxto"),
    "value": ("value", "values", "dmx", "dmxvalue", "dmxvalues", "range", "dmxrange", "decimal", "dec",
              "wert", "werte", "dmxwert", "dmxwerte", "bereich", "dezimal", "wertebereich"),
    "percent": ("percent", "percentage", "prozent", "pct", "inpercent"),
    "name": ("function", "name", "feature", "parameter", "attribute", "control", "funktion", "belegung",
             "merkmal", "bezeichnung"),
    "what": ("description", "setting", "settings", "effect", "details", "detail", "comment", "remarks",
             "notes", "meaning", "beschreibung", "einstellung", "effekt", "bemerkung", "bedeutung"),
}  # fmt: skip
KNOWN = {heading: column for column, headings in HEADINGS.items() for heading in headings}
BETWEEN = r"\s*(?:-|–|—|−|…|\.{2,3}|\bto\b|\bbis\b|~|→|>)\s*"
SLOTS = re.compile(rf"^#?\s*(\d{{1,4}})(?:(?:{BETWEEN}|\s*[/+&,]\s*)(\d{{1,4}}))*\s*$")
SPAN = re.compile(rf"^\s*(\d{{1,10}})(?:\s*%)?{BETWEEN}(\d{{1,10}})\s*(%?)")
ONE = re.compile(r"^\s*(\d{1,10})\s*(%?)\s*$")
CALLED_SLOT = re.compile(r"(?:ch\w*|slot|kanal)?\.?\s*#?(\d{1,3})\b[.:]?")
ALONE = re.compile(r"^(\d[\d/+&]*(?:\s*-\s*\d+)?)\s*[.:)=]?\s+(\D.*)$")
IN_TEXT = re.compile(rf"^\s*(\d{{1,5}})(?:\s*%)?{BETWEEN}(\d{{1,5}})\s*(%?)\s*[:=,)-]?\s*(?=\D)(.+)$")


Said = tuple[str, str, tuple[tuple[int, int] | None, bool]]


@dataclass(frozen=True, slots=True)
class Row:
    """One line. slots: () where it goes on about those before it. span: raw values, or percent; None: all.

    name: of the control, as it stands there; what: of the part of its range.
    """

    line: int
    slots: tuple[int, ...]
    span: tuple[int, int] | None
    is_percent: bool
    name: str
    what: str


def rows_in(text: str) -> Iterator[Row | tuple[int, str]]:
    """Each line that says something, in order; a pair of line and sentence for one that cannot be read."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    split = [(number, _cells(line)) for number, line in enumerate(lines[:LINES_MOST], 1) if line.strip()]
    if len(lines) > LINES_MOST:
        yield LINES_MOST, f"Only the first {LINES_MOST} lines are read."
    columns = _guessed([cells for _, cells in split])
    for number, cells in split:
        headed = _headed(cells)
        if headed:
            columns = headed
            continue
        yield _row(number, cells, columns)


def _cells(line: str) -> list[str]:
    for sign in ("\t", ";", "|"):
        if sign in line:
            return _trimmed(line.split(sign), keep=sign != "|")
    if re.search(r",(?! )", line):
        return _trimmed(line.split(","), keep=True)
    cells = _trimmed(re.split(r"\s{2,}", line.rstrip()), keep=True)
    if len(cells) > 1:
        return cells
    if ", " in line:
        return _trimmed(line.split(","), keep=True)
    alone = ALONE.match(cells[0])
    return [alone[1], alone[2]] if alone else cells


def _trimmed(cells: list[str], keep: bool) -> list[str]:
    out = [re.sub(r"\s+", " ", cell).strip().strip('"').strip() for cell in cells[:CELLS_MOST]]
    return out if keep else out[1:] if out and not out[0] else out


def _headed(cells: Sequence[str]) -> dict[str, int] | None:
    """The columns, where this is a line of headings: two that are known, and no number anywhere."""
    if any(re.search(r"\d", re.sub(r"\b(8|16)\s?bit\b", "", cell)) for cell in cells):
        return None
    out: dict[str, int] = {}
    for place, cell in enumerate(cells):
        bare = re.sub(r"[\W_]", "", cell.casefold())
        column = "percent" if cell.strip() == "%" else KNOWN.get(bare)
        if column is not None:
            out.setdefault(column, place)
    filled = sum(1 for cell in cells if cell)
    return out if len(out) >= 2 or (len(out) == filled == 1 and "slot" in out) else None


def _guessed(table: Sequence[Sequence[str]]) -> dict[str, int]:
    """The columns of a table without headings, by what stands in them."""
    width = max((len(cells) for cells in table), default=0)
    filled = [[cells[at] for cells in table if at < len(cells) and cells[at]] for at in range(width)]
    out: dict[str, int] = {}
    for at, column in enumerate(filled):
        spans = sum(1 for cell in column if SPAN.match(cell))
        numbers = sum(1 for cell in column if SLOTS.match(cell) or CALLED_SLOT.fullmatch(cell.casefold()))
        percents = sum(1 for cell in column if "%" in cell)
        most = max(len(column), 1) * 0.6
        if percents > most and percents >= spans * 0.6:
            out.setdefault("percent", at)
        elif "slot" not in out and numbers > most and _climbs(column):
            out["slot"] = at
        elif spans and (spans + numbers) > most:
            out.setdefault("value", at)
        elif column:
            out.setdefault("name" if "name" not in out else "what", at)
    return out


def _climbs(column: Sequence[str]) -> bool:
    """Slots are counted upwards; the values of ranges begin at nothing again and again."""
    found = (SLOTS.match(cell) or CALLED_SLOT.fullmatch(cell.casefold()) for cell in column)
    firsts = [int(one[1]) for one in found if one]
    return bool(firsts) and 0 < firsts[0] <= 512 and all(a <= b for a, b in pairwise(firsts))


def _row(line: int, cells: Sequence[str], columns: dict[str, int]) -> Row | tuple[int, str]:
    def cell(name: str) -> str:
        at = columns.get(name)
        return cells[at] if at is not None and at < len(cells) else ""

    written = cell("slot")
    slots = _slots(written)
    if written and not (slots and all(1 <= slot <= 512 for slot in slots)):
        return line, f'"{written[:40]}" is no slot: they go from 1 to 512, and a control has up to 4.'
    name, what, (span, is_percent) = _said(cells, columns, cell, bool(slots))
    if span is not None and span[0] > span[1]:
        return line, f"{span[0]} to {span[1]} runs backwards."
    if not slots and span is None and not name and not what:
        return line, "Nothing in this line says what it is about."
    return Row(line, slots, span, is_percent, name, what.strip())


def _said(cells: Sequence[str], columns: dict[str, int], cell: Callable[[str], str], has_slots: bool) -> Said:
    """Name, what, and span with whether it is percent."""
    span = _span(cell)
    rest = [c for at, c in enumerate(cells) if c and at not in columns.values()]
    name, what = cell("name"), cell("what") or " ".join(rest)
    if span[0] is not None:
        return name, what, span
    others = [c for at, c in enumerate(cells) if c and at != columns.get("slot")]
    if loose := next((c for c in others if SPAN.fullmatch(c)), None):
        # Blanks, not columns: a line that goes on has fewer of them.
        words = [c for c in others if c != loose]
        named = has_slots and len(words) > 1
        span = _span(lambda column: loose if column == "value" else "")
        return words[0] if named else "", " ".join(words[1:] if named else words), span
    for text in (what, name):
        if inside := IN_TEXT.match(text):
            span = (int(inside[1]), int(inside[2])), bool(inside[3])
            return name if text == what else "", inside[4], span
    return name, what, span


def _slots(written: str) -> tuple[int, ...]:
    if written and not SLOTS.match(written):
        found = CALLED_SLOT.match(written.casefold())
        return (int(found[1]),) if found else ()
    numbers = [int(n) for n in re.findall(r"\d+", written)]
    if len(numbers) == 2 and re.search(BETWEEN, written) and not re.search(r"[/+&,]", written):
        numbers = list(range(numbers[0], numbers[1] + 1)) if 0 <= numbers[1] - numbers[0] < 4 else []
    return tuple(numbers) if len(numbers) <= 4 and len(set(numbers)) == len(numbers) else ()


def _span(cell: Callable[[str], str]) -> tuple[tuple[int, int] | None, bool]:
    if (first := ONE.match(cell("from"))) and (last := ONE.match(cell("to"))):
        return (int(first[1]), int(last[1])), bool(first[2] or last[2])
    for name in ("value", "percent"):
        text = cell(name)
        if found := SPAN.match(text):
            return (int(found[1]), int(found[2])), bool(found[3]) or "%" in text or name == "percent"
        if found := ONE.match(text):
            return (int(found[1]), int(found[1])), bool(found[2]) or name == "percent"
    return None, False
