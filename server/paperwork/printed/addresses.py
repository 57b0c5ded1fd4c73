"""The address plan: each universe as a picture of its 512 slots, then as a table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from reportlab.pdfgen.canvas import Canvas

from server.paperwork.printed.page import MM, Paper
from server.paperwork.printed.rows import Job, Unit
from server.paperwork.printed.table import Column, Group, lay
from server.paperwork.printed.words import Words
from server.rig.universe import SLOTS

__all__ = ["address_plan", "free_ranges"]

ACROSS = 32  # slots in a row: 16 rows, and each row begins at a number one can reckon
ROW_NUMBER = 9 * MM
HIGH = 6 * MM
GREY = 0.86
Kept = tuple[int, int, int, str]  # universe, first and last slot, why


class Taken(NamedTuple):
    """The slots of one start address of a unit."""

    universe: int
    first: int
    last: int
    unit: Unit


def address_plan(paper: Paper, job: Job, words: Words) -> None:
    """A page or more for each universe, lowest first, and what is not patched at the end."""
    patched = [Taken(*span, unit) for unit in job.units for span in unit.spans]
    universes = {taken.universe for taken in patched} | {kept[0] for kept in (*job.off_limits, *job.reserved)}
    for universe in sorted(universes):
        here = sorted((taken for taken in patched if taken.universe == universe), key=lambda t: t.first)
        limits, reserved = (
            [kept for kept in ranges if kept[0] == universe] for ranges in (job.off_limits, job.reserved)
        )
        _Universe(paper, words, here, limits, reserved).put(universe)
    rest = [unit for unit in job.units if not unit.spans]
    if rest:
        paper.fresh()
        paper.say(words.not_patched, 12, bold=True)
        paper.space(4)
        lay(paper, _columns(words), [Group("", [_row(None, unit) for unit in rest])])


def free_ranges(taken: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """The slots of one universe that nothing takes, as first and last. taken: likewise."""
    used = bytearray(SLOTS)
    for first, last in taken:
        first, last = max(1, first), min(SLOTS, last)
        used[first - 1 : last] = b"\1" * max(0, last - first + 1)
    found = []
    for is_used, run in groupby(range(1, SLOTS + 1), key=lambda slot: used[slot - 1]):
        slots = list(run)
        if not is_used:
            found.append((slots[0], slots[-1]))
    return found


def _columns(words: Words) -> list[Column]:
    shares = {"start": 11, "end": 11, "slots": 11, "channel": 15, "type": 36, "mode": 32, "position": 26}
    shares |= {"unit": 11, "branch": 14, "chain": 14, "checked": 15}
    write = ("branch", "chain", "checked")
    return [
        Column(words.heads[n], share, n in ("start", "channel"), n in write) for n, share in shares.items()
    ]


def _row(taken: Taken | None, u: Unit) -> list[str]:
    numbers = [taken.first, taken.last, taken.last - taken.first + 1] if taken else ["", "", ""]
    channel = "" if u.channel is None else str(u.channel)
    return [*map(str, numbers), channel, u.type, u.mode, u.position, u.unit, "", "", ""]


@dataclass(frozen=True, slots=True)
class _Universe:
    """One universe on its pages."""

    paper: Paper
    words: Words
    units: Sequence[Taken]
    limits: Sequence[Kept]
    reserved: Sequence[Kept]

    def put(self, universe: int) -> None:
        paper, words = self.paper, self.words
        paper.fresh()
        name = words.universe.format(universe=universe)
        paper.say(name, 14, bold=True)
        kept = [(first, last) for _, first, last, _ in (*self.limits, *self.reserved)]
        slots = [(taken.first, taken.last) for taken in self.units]
        free = free_ranges([*slots, *kept])
        count = SLOTS - sum(last - first + 1 for first, last in free_ranges(slots))
        paper.say(words.summary.format(taken=count), 9)
        shown = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in free)
        paper.say(words.free.format(ranges=shown) if free else words.full, 9)
        for said, ranges in ((words.off_limits, self.limits), (words.reserved, self.reserved)):
            for _, first, last, why in ranges:
                paper.say(said.format(first=first, last=last, why=why), 9)
        paper.space(6)
        high = SLOTS // ACROSS * HIGH
        if paper.room < high:
            paper.fresh()
        paper.put(high, self._picture)
        paper.space(3)
        paper.say(words.legend)
        paper.say(words.hazard)
        paper.space(6)
        if self.units:
            lay(paper, _columns(words), [Group(name, [_row(taken, taken.unit) for taken in self.units])])

    def _picture(self, canvas: Canvas, top: float) -> None:
        left, wide = self.paper.left + ROW_NUMBER, (self.paper.width - ROW_NUMBER) / ACROSS
        letters = self.paper.letters
        canvas.setStrokeGray(0.7)
        canvas.setLineWidth(0.25)
        for row in range(SLOTS // ACROSS):
            y = top - (row + 1) * HIGH
            letters.draw(canvas, self.paper.left, y + HIGH / 3, str(row * ACROSS + 1), 7)
            for at in range(ACROSS):
                canvas.rect(left + at * wide, y, wide, HIGH)
        canvas.setStrokeGray(0.35)
        for ranges, is_crossed in ((self.reserved, False), (self.limits, True)):
            for _, first, last, _ in ranges:
                for x, y, cells in _boxes(first, last, left, top, wide):
                    for at in range(cells):
                        canvas.line(x + at * wide, y, x + (at + 1) * wide, y + HIGH)
                        if is_crossed:
                            canvas.line(x + at * wide, y + HIGH, x + (at + 1) * wide, y)
        canvas.setStrokeGray(0)
        canvas.setLineWidth(0.7)
        for taken in self.units:
            name = "" if taken.unit.channel is None else str(taken.unit.channel)
            for x, y, cells in _boxes(taken.first, taken.last, left, top, wide):
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
