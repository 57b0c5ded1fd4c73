"""The rig as a table: a hookup sheet read with tolerance, and written so that it reads back the same."""

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import TypeVar

from server.paperwork.columns import (
    FIELDS,
    NONE,
    address_in,
    channel_in,
    fields_of,
    mode_in,
    profile_in,
    starts_in,
    yes_in,
)
from server.paperwork.library import Library
from server.paperwork.problems import Problem
from server.paperwork.refused import refusal
from server.rig.patch import MORE_MOST, Fixture
from server.rig.place import Placed, Start

__all__ = [
    "Row",
    "Sheet",
    "Unread",
    "decoded",
    "guarded",
    "read_rig",
    "read_sheet",
    "too_long",
    "write_rig",
]

T = TypeVar("T")

BYTES_MOST = 8 * 2**20  # some 20,000 long lines
LINES_MOST = 20_000  # ten times the largest rig aimed at
TEXT_MOST, NOTES_MOST, CELL_MOST, HEADING_MOST = 200, 4000, 1000, 100  # characters
COLUMNS_MOST = 64  # that a person says the meaning of
HEADING_WITHIN = 20  # lines that may stand above the headings: show, date, designer
HEADINGS = (
    "Position", "Unit", "Channel", "Purpose", "Profile", "Mode", "Universe", "Address", "Other addresses",
    "House", "Guarded", "Work light", "Notes",
)  # fmt: skip
UNSAID = frozenset({"inverted", "placed"})  # what a table has no column for
# Five octets mean nothing in Windows-1252 as it is defined; they stand for themselves.
WINDOWS = "".join(bytes([octet]).decode("cp1252", "ignore") or chr(octet) for octet in range(256))
FORMULA = ("=", "+", "-", "@")  # a spreadsheet would run what begins so


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a hookup sheet. profile and mode are a library key and the name of one of its modes.

    universe and address (1-512) are None together while the unit is not patched.
    inverted: those of pan and tilt that count the other way, or (whole) all.
    silent: fields that the file says nothing about, which stay as they are where the unit is known; so does
    cap where it is None. more: what its further columns say, by heading. headings: all those that the file
    has, also where the cell is empty. whole: it says all there is to say of what it is not silent about.
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
    cap: float | None = None
    more: dict[str, str] = field(default_factory=dict)
    silent: frozenset[str] = field(default=frozenset(), compare=False)
    headings: frozenset[str] = field(default=frozenset(), compare=False)
    whole: bool = field(default=False, compare=False)
    where: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Unread:
    """What cannot be a row, as far as it says which unit it is about.

    row: that much of it, without a type. sure: everything in it that names a unit could be read.
    """

    row: Row
    sure: bool


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a file holds: its rows, and a problem by line for everything that is none.

    columns: by heading, the field it is read as; "" for one that is kept as it is. unread: the lines with
    those problems.
    """

    rows: list[Row]
    problems: list[Problem]
    columns: dict[str, str] = field(default_factory=dict)
    unread: list[Unread] = field(default_factory=list)


def read_rig(text: bytes, library: Library) -> tuple[list[Row], list[Problem]]:
    """Every line that makes sense as a row, and a problem by line for everything that does not."""
    sheet = read_sheet(text, library)
    return sheet.rows, sheet.problems


def read_sheet(text: bytes, library: Library, by_hand: Mapping[str, str] = NONE) -> Sheet:
    """A hookup sheet as it comes.

    Columns in any order under any of the trade's headings, English or German, separated by comma, semicolon
    or tab, in quotes of either kind, in UTF-8 or UTF-16 (with or without mark) or Windows-1252. A column
    nobody knows is kept with its heading. A unit of a type that this tool never drives is a problem.
    by_hand: fields by heading, where a person has said what a column is; "" for one that is none of them.
    """
    if len(text) > BYTES_MOST:
        return _useless(f"larger than {BYTES_MOST // 2**20} MiB; is this a hookup sheet?")
    try:
        lines, head, columns = _table(decoded(text), by_hand)
    except NoHeadingsError as wrong:
        return replace(_useless(str(wrong)), columns={each: by_hand.get(each, "") for each in wrong.likely})
    except (csv.Error, ValueError) as wrong:
        return _useless(str(wrong))
    rows: list[Row] = []
    problems: list[Problem] = []
    unread: list[Unread] = []
    for number, cells in lines[head + 1 :]:
        if any(cells):
            made = _row(number, cells, columns, library)
            if isinstance(made, Row):
                rows.append(made)
            else:
                problems += made
                unread.append(_unread(number, cells, columns))
    shown = {lines[head][1][n]: field if field in FIELDS else "" for n, field in sorted(columns.items())}
    return Sheet(rows, problems, shown, unread)


class NoHeadingsError(ValueError):
    """No line of a table is one of headings that are known. likely: those of the likeliest, for a person."""

    def __init__(self, why: str, likely: list[str]) -> None:
        super().__init__(why)
        self.likely = likely


def _useless(why: str) -> Sheet:
    return Sheet([], [Problem("", why)])


def decoded(text: bytes) -> str:
    """The text, whatever program wrote it. Never fails: in Windows-1252 every octet means something."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if text.startswith(mark):
            return text.decode(encoding, "replace")
    # Of western text in UTF-16 every other octet is 0, and the first line holds headings of ours.
    begin = text[:200]
    for odd, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        if (
            len(begin) >= 4
            and begin[odd::2].count(0) * 2 > len(begin[odd::2])
            and 0 not in begin[1 - odd :: 2]
        ):
            return text.decode(encoding, "replace")
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError:
        return codecs.charmap_decode(text, "strict", WINDOWS)[0]


Lines = list[tuple[int, list[str]]]


def _table(text: str, by_hand: Mapping[str, str]) -> tuple[Lines, int, dict[int, str]]:
    """The lines, which of them holds the headings, and the field of each column."""
    best: tuple[int, str, int, dict[int, str]] = (0, ",", 0, {})
    for separator in ",;\t":
        for place, (_, cells) in enumerate(islice(_lines(text, separator), HEADING_WITHIN)):
            columns = fields_of(cells, by_hand)
            known = sum(name in FIELDS for name in columns.values())
            if known > best[0]:
                best = known, separator, place, columns
    known, separator, head, columns = best
    if known < 2 or "profile" not in columns.values():
        wanted = ", ".join(HEADINGS)
        why = f"no line of headings with a column Type or Profile was found (known: {wanted})"
        raise NoHeadingsError(why, _likely(text))
    lines = list(_lines(text, separator))
    if all(re.fullmatch(r"'[^']*'", cell) for cell in lines[head][1] if cell):
        lines = list(_lines(text, separator, "'"))
        columns = fields_of(lines[head][1], by_hand)
    return lines, head, columns


def _likely(text: str) -> list[str]:
    """The cells of the first line with the most of them, as a person would look for the headings."""
    begin = [cells for separator in ",;\t" for _, cells in islice(_lines(text, separator), HEADING_WITHIN)]
    named = [[cell for cell in cells if cell and cell.isprintable()] for cells in begin]
    most = max(named, key=len, default=[])
    return [cell for cell in most if len(cell) <= HEADING_MOST][:COLUMNS_MOST] if len(most) > 1 else []


def _lines(text: str, separator: str, quote: str = '"') -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, quotechar=quote)
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
    channel = _or_say(wrong, lambda: channel_in(cell["channel"]))
    profile = _or_say(wrong, lambda: profile_in(cell["profile"], library))
    mode = _or_say(wrong, lambda: mode_in(cell["mode"], profile, cell["footprint"])) if profile else None
    universe, address = _or_say(wrong, lambda: address_in(cell["universe"], cell["address"])) or (None, None)
    starts = _or_say(wrong, lambda: starts_in(cell["starts"]))
    house = _or_say(wrong, lambda: yes_in(cell["house"], "house"))
    guarded = _or_say(wrong, lambda: yes_in(cell["guarded"], "guarded"))
    work_light = _or_say(wrong, lambda: yes_in(cell["work_light"], "work light"))
    more = {f[1:]: text for f, text in cell.items() if f.startswith(":") and text}
    wrong += too_long(cell["position"], cell["unit"], cell["purpose"], cell["notes"], more)
    if wrong or profile is None or mode is None:
        return [Problem(f"line {line}", why) for why in wrong]
    there = set(columns.values())
    silent = {field for field in FIELDS if field not in there} - {"universe", "address"}
    if not there & {"universe", "address"}:
        silent |= {"universe", "address"}
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
        notes=cell["notes"],
        starts=starts or (),
        more=more,
        silent=UNSAID | silent,
        headings=frozenset(field[1:] for field in there if field.startswith(":")),
        where=f"line {line}",
    )


def _unread(line: int, cells: list[str], columns: dict[int, str]) -> Unread:
    cell = {f: cells[n] for n, f in columns.items() if n < len(cells)}
    wrong: list[str] = []
    channel = _or_say(wrong, lambda: channel_in(cell.get("channel", "")))
    position, unit = cell.get("position", ""), cell.get("unit", "")
    row = Row(channel, unit, position, "", "", "", None, None, where=f"line {line}")
    return Unread(row, not wrong and (channel is not None or bool(position and unit)))


def too_long(position: str, unit: str, purpose: str, notes: str, more: Mapping[str, str]) -> list[str]:
    """What of a unit's texts is longer than a fixture may hold, in sentences."""
    texts = {"position": position, "unit": unit, "purpose": purpose}
    found = [
        f"{name} has more than {TEXT_MOST} characters" for name, t in texts.items() if len(t) > TEXT_MOST
    ]
    found += [f"notes have more than {NOTES_MOST} characters"] if len(notes) > NOTES_MOST else []
    found += [
        f'"{n[:40]}" has more than {CELL_MOST} characters' for n, t in more.items() if len(t) > CELL_MOST
    ]
    found += (
        [f"a heading has more than {HEADING_MOST} characters"]
        if any(len(n) > HEADING_MOST for n in more)
        else []
    )
    found += [f"more than {MORE_MOST} further columns"] if len(more) > MORE_MOST else []
    return found


def _or_say(wrong: list[str], parse: Callable[[], T]) -> T | None:
    try:
        return parse()
    except ValueError as why:
        wrong.append(str(why))
        return None


def write_rig(fixtures: Iterable[Fixture | Row]) -> str:
    """The rig as CSV with a line of headings; `read_rig` gives the same rows back.

    What else their paper says follows in columns of its own. Text that a spreadsheet would run as a formula
    is written behind an apostrophe.
    """
    units = tuple(fixtures)
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    more = list(dict.fromkeys(heading for unit in units for heading in unit.more))
    writer.writerow([*HEADINGS, *map(guarded, more)])
    for unit in units:
        numbers = ["" if n is None else n for n in (unit.channel, unit.universe, unit.address)]
        flags = ["yes" if flag else "" for flag in (unit.house, unit.guarded, unit.work_light)]
        texts = [guarded(x) for x in (unit.position, unit.unit, unit.purpose, unit.profile, unit.mode)]
        place, number, purpose, profile, mode = texts
        starts = "; ".join(f"{s.number}: {s.universe}/{s.address}" for s in unit.starts)
        line = [place, number, numbers[0], purpose, profile, mode, *numbers[1:], starts, *flags]
        writer.writerow([*line, *map(guarded, (unit.notes, *(unit.more.get(h, "") for h in more)))])
    return out.getvalue()


def guarded(text: str) -> str:
    """The text, behind an apostrophe where a spreadsheet would run it as a formula."""
    bare = text.strip()
    return f"'{bare}" if bare.lstrip("'").startswith(FORMULA) else bare


def _plain(cell: str) -> str:
    bare = cell.strip()
    return bare[1:] if bare.startswith("'") and bare.lstrip("'").startswith(FORMULA) else bare
