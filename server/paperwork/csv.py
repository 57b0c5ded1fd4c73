"""The rig as a table: a hookup sheet read with tolerance, and written so that it reads back the same."""

import csv
import io
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import TypeVar

from server.paperwork.columns import (
    FIELDS,
    address_in,
    fields_of,
    mode_in,
    number_in,
    profile_in,
    starts_in,
    yes_in,
)
from server.paperwork.library import Library
from server.paperwork.problems import Problem
from server.paperwork.refused import refusal
from server.rig.patch import Fixture
from server.rig.place import Placed, Start

__all__ = ["Row", "guarded", "read_rig", "write_rig"]

T = TypeVar("T")

BYTES_MOST = 8 * 2**20  # some 20,000 long lines
LINES_MOST = 20_000  # ten times the largest rig aimed at
HEADING_WITHIN = 20  # lines that may stand above the headings: show, date, designer
HEADINGS = (
    "Position", "Unit", "Channel", "Purpose", "Profile", "Mode", "Universe", "Address", "Other addresses",
    "House", "Guarded", "Work light", "Notes",
)  # fmt: skip
UNSAID = frozenset({"inverted", "placed"})  # what a table has no column for
FORMULA = ("=", "+", "-", "@")  # a spreadsheet would run what begins so


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a hookup sheet. profile and mode are a library key and the name of one of its modes.

    universe and address (1-512) are None together while the unit is not patched.
    inverted: those of pan and tilt that count the other way.
    silent: fields that the file says nothing about, which stay as they are where the unit is known.
    where: its place in the file, for reports.
    """

    channel: int | None
    unit: str
    position: str
    purpose: str
    profile: str
    mode: str
    universe: int | None
    address: int | None
    house: bool = False
    guarded: bool = False
    work_light: bool = False
    notes: str = ""
    starts: tuple[Start, ...] = ()
    inverted: tuple[str, ...] = ()
    placed: Placed | None = None
    silent: frozenset[str] = field(default=frozenset(), compare=False)
    where: str = field(default="", compare=False)


def read_rig(text: bytes, library: Library) -> tuple[list[Row], list[Problem]]:
    """Every line that makes sense as a row, and a problem by line for everything that does not.

    Columns in any order under any of the trade's headings, separated by comma, semicolon or tab,
    in UTF-8 (with or without mark), UTF-16 with mark, or Latin-1. A column nobody knows goes into
    the notes as `Colour: L201`. A unit of a type that this tool never drives is a problem.
    """
    if len(text) > BYTES_MOST:
        return [], [Problem("", f"larger than {BYTES_MOST // 2**20} MiB; is this a hookup sheet?")]
    try:
        lines, head, columns = _table(_decoded(text))
    except (csv.Error, ValueError) as wrong:
        return [], [Problem("", str(wrong))]
    rows: list[Row] = []
    problems: list[Problem] = []
    for number, cells in lines[head + 1 :]:
        if any(cells):
            made = _row(number, cells, columns, library)
            rows += [made] if isinstance(made, Row) else []
            problems += [] if isinstance(made, Row) else made
    return rows, problems


def _decoded(text: bytes) -> str:
    marked = text.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        return text.decode("utf-16" if marked else "utf-8-sig")
    except UnicodeDecodeError:
        return text.decode("latin-1")


Lines = list[tuple[int, list[str]]]


def _table(text: str) -> tuple[Lines, int, dict[int, str]]:
    """The lines, which of them holds the headings, and the field of each column."""
    best: tuple[int, Lines, int, dict[int, str]] = (0, [], 0, {})
    for separator in ",;\t":
        lines = list(_lines(text, separator))
        for place, (_, cells) in enumerate(lines[:HEADING_WITHIN]):
            columns = fields_of(cells)
            known = sum(name in FIELDS for name in columns.values())
            if known > best[0]:
                best = known, lines, place, columns
    known, lines, head, columns = best
    if known < 2 or "profile" not in columns.values():
        wanted = ", ".join(HEADINGS)
        raise ValueError(f"no line of headings with a column Type or Profile was found (known: {wanted})")
    return lines, head, columns


def _lines(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    for count, cells in enumerate(reader):
        if count > LINES_MOST:
            raise ValueError(f"more than {LINES_MOST} lines")
        yield reader.line_num, [_plain(cell) for cell in cells]


def _row(line: int, cells: list[str], columns: dict[int, str], library: Library) -> Row | list[Problem]:
    cell = dict.fromkeys(FIELDS, "") | {f: cells[n] for n, f in columns.items() if n < len(cells)}
    hazard = refusal(cell["profile"]) or refusal(cell["mode"])
    if hazard:
        return [Problem(f"line {line}", hazard)]
    wrong: list[str] = []
    channel = _or_say(wrong, lambda: number_in(cell["channel"], "channel"))
    profile = _or_say(wrong, lambda: profile_in(cell["profile"], library))
    mode = _or_say(wrong, lambda: mode_in(cell["mode"], profile)) if profile else None
    universe, address = _or_say(wrong, lambda: address_in(cell["universe"], cell["address"])) or (None, None)
    starts = _or_say(wrong, lambda: starts_in(cell["starts"]))
    house = _or_say(wrong, lambda: yes_in(cell["house"], "house"))
    guarded = _or_say(wrong, lambda: yes_in(cell["guarded"], "guarded"))
    work_light = _or_say(wrong, lambda: yes_in(cell["work_light"], "work light"))
    if wrong or profile is None or mode is None:
        return [Problem(f"line {line}", why) for why in wrong]
    return Row(
        channel=channel,
        unit=cell["unit"],
        position=cell["position"],
        purpose=cell["purpose"],
        profile=profile.key,
        mode=mode.name,
        universe=universe,
        address=address,
        house=bool(house),
        guarded=bool(guarded),
        work_light=bool(work_light),
        notes=_notes(cell),
        starts=starts or (),
        silent=UNSAID if "starts" in columns.values() else UNSAID | {"starts"},
        where=f"line {line}",
    )


def _or_say(wrong: list[str], parse: Callable[[], T]) -> T | None:
    try:
        return parse()
    except ValueError as why:
        wrong.append(str(why))
        return None


def _notes(cell: dict[str, str]) -> str:
    others = [f"{field[1:]}: {text}" for field, text in cell.items() if field.startswith(":") and text]
    return "; ".join(part for part in [cell["notes"], *others] if part)


def write_rig(fixtures: Iterable[Fixture | Row]) -> str:
    """The rig as CSV with a line of headings; `read_rig` gives the same rows back.

    Text that a spreadsheet would run as a formula is written behind an apostrophe.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    for unit in fixtures:
        numbers = ["" if n is None else n for n in (unit.channel, unit.universe, unit.address)]
        flags = ["yes" if flag else "" for flag in (unit.house, unit.guarded, unit.work_light)]
        texts = [guarded(x) for x in (unit.position, unit.unit, unit.purpose, unit.profile, unit.mode)]
        place, number, purpose, profile, mode = texts
        starts = "; ".join(f"{s.number}: {s.universe}/{s.address}" for s in unit.starts)
        line = [place, number, numbers[0], purpose, profile, mode, *numbers[1:], starts, *flags]
        writer.writerow([*line, guarded(unit.notes)])
    return out.getvalue()


def guarded(text: str) -> str:
    """The text, behind an apostrophe where a spreadsheet would run it as a formula."""
    bare = text.strip()
    return f"'{bare}" if bare.lstrip("'").startswith(FORMULA) else bare


def _plain(cell: str) -> str:
    bare = cell.strip()
    return bare[1:] if bare.startswith("'") and bare.lstrip("'").startswith(FORMULA) else bare
