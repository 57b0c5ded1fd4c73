"""The address plan: each universe as a picture of its 512 slots, then as a table."""

from collections.abc import Iterable, Sequence
from itertools import groupby

from reportlab.pdfgen.canvas import Canvas

from server.paperwork.printed.page import MM, Paper
from server.paperwork.printed.rows import Job, Unit, by_hanging
from server.paperwork.printed.table import Column, Group, lay
from server.paperwork.printed.words import Words
from server.rig.universe import SLOTS

__all__ = ["address_plan", "free_ranges"]

ACROSS = 32  # slots in a row: 16 rows, and each row begins at a number one can reckon
ROW_NUMBER = 9 * MM
HIGH = 6 * MM
GREY = 0.86
Limit = tuple[int, int, int, str]


def address_plan(paper: Paper, job: Job, words: Words) -> None:
    """A page or more for each universe, lowest first, and what is not patched at the end."""
    patched = [unit for unit in job.units if unit.universe is not None and unit.address is not None]
    universes = {unit.universe or 0 for unit in patched} | {limit[0] for limit in job.off_limits}
    for universe in sorted(universes):
        units = sorted((u for u in patched if u.universe == universe), key=lambda u: u.address or 0)
        limits = [limit for limit in job.off_limits if limit[0] == universe]
        _universe(paper, universe, units, limits, words)
    rest = by_hanging(unit for unit in job.units if unit.universe is None or unit.address is None)
    if rest:
        paper.fresh()
        paper.say(words.not_patched, 12, bold=True)
        paper.space(4)
        lay(paper, _columns(words), [Group("", [_row(unit) for unit in rest])])


def free_ranges(units: Iterable[Unit], limits: Iterable[Limit]) -> list[tuple[int, int]]:
    """The slots of one universe that nobody has and that are not off limits, as first and last."""
    used = bytearray(SLOTS)
    ranges = [(u.address, u.last) for u in units] + [(first, last) for _, first, last, _ in limits]
    for first, last in ranges:
        if first is not None and last is not None:
            for slot in range(max(1, first), min(SLOTS, last) + 1):
                used[slot - 1] = 1
    found = []
    for taken, run in groupby(range(1, SLOTS + 1), key=lambda slot: used[slot - 1]):
        slots = list(run)
        if not taken:
            found.append((slots[0], slots[-1]))
    return found


def _universe(
    paper: Paper, universe: int, units: Sequence[Unit], limits: Sequence[Limit], words: Words
) -> None:
    paper.fresh()
    paper.say(words.universe.format(universe=universe), 14, bold=True)
    free = free_ranges(units, limits)
    taken = sum(min(SLOTS, u.last or 0) - (u.address or 0) + 1 for u in units)
    paper.say(words.summary.format(taken=taken), 9)
    shown = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in free)
    paper.say(words.free.format(ranges=shown) if free else words.full, 9)
    for _, first, last, why in limits:
        paper.say(words.off_limits.format(first=first, last=last, why=why), 9)
    paper.space(6)
    high = SLOTS // ACROSS * HIGH
    if paper.room < high:
        paper.fresh()
    paper.put(high, lambda canvas, top: _picture(paper, canvas, top, units, limits))
    paper.space(3)
    paper.say(words.legend)
    paper.say(words.hazard)
    paper.space(6)
    if units:
        lay(paper, _columns(words), [Group("", [_row(unit) for unit in units])])


def _columns(words: Words) -> list[Column]:
    shares = {"start": 11, "end": 11, "slots": 11, "channel": 15, "type": 36, "mode": 32, "position": 26}
    shares |= {"unit": 11, "branch": 14, "chain": 14, "checked": 15}
    write = ("branch", "chain", "checked")
    return [
        Column(words.heads[n], share, n in ("start", "channel"), n in write) for n, share in shares.items()
    ]


def _row(u: Unit) -> list[str]:
    numbers = ["" if n is None else str(n) for n in (u.address, u.last, u.slots or None, u.channel)]
    return [*numbers, u.type, u.mode, u.position, u.unit, "", "", ""]


def _picture(
    paper: Paper, canvas: Canvas, top: float, units: Sequence[Unit], limits: Sequence[Limit]
) -> None:
    left, wide = paper.left + ROW_NUMBER, (paper.width - ROW_NUMBER) / ACROSS
    letters = paper.letters
    canvas.setStrokeGray(0.7)
    canvas.setLineWidth(0.25)
    for row in range(SLOTS // ACROSS):
        y = top - (row + 1) * HIGH
        letters.draw(canvas, paper.left, y + HIGH / 3, str(row * ACROSS + 1), 7)
        for at in range(ACROSS):
            canvas.rect(left + at * wide, y, wide, HIGH)
    for _, first, last, _ in limits:
        for x, y, cells in _boxes(first, last, left, top, wide):
            for at in range(cells):
                canvas.setStrokeGray(0.35)
                canvas.line(x + at * wide, y, x + (at + 1) * wide, y + HIGH)
                canvas.line(x + at * wide, y + HIGH, x + (at + 1) * wide, y)
    canvas.setStrokeGray(0)
    canvas.setLineWidth(0.7)
    for unit in units:
        name = "" if unit.channel is None else str(unit.channel)
        for x, y, cells in _boxes(unit.address or 1, unit.last or 1, left, top, wide):
            canvas.setFillGray(GREY)
            canvas.rect(x, y, cells * wide, HIGH, fill=1)
            canvas.setFillGray(0)
            size = min(7.0, 7.0 * (cells * wide - 1.5) / max(1.0, letters.width(name, 7.0)))
            letters.draw(canvas, x + 1, y + HIGH / 3, name, size)


def _boxes(first: int, last: int, left: float, top: float, wide: float) -> Iterable[tuple[float, float, int]]:
    """Where the slots lie: left and lower edge, and how many beside each other, for each row of them."""
    slot = max(1, first)
    while slot <= min(SLOTS, last):
        row, at = divmod(slot - 1, ACROSS)
        cells = min(ACROSS - at, min(SLOTS, last) - slot + 1)
        yield left + at * wide, top - (row + 1) * HIGH, cells
        slot += cells
