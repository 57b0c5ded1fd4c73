"""The hand-over on paper: what was done, what is known to be wrong, and lines for what no laptop knows."""

import base64
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import cast

from reportlab.pdfgen.canvas import Canvas

from server.paperwork.printed.handed import Handed
from server.paperwork.printed.handover_words import HANDOVER, HandoverWords
from server.paperwork.printed.letters import Letters
from server.paperwork.printed.page import LEADING, MM, Head, Paper
from server.paperwork.printed.rows import Job
from server.paperwork.printed.sheets import SIZES
from server.paperwork.printed.table import Column, Group, lay
from server.paperwork.printed.words import Words

__all__ = ["handover"]

TITLE, TEXT = 11.0, 8.5
LEFT_FOR = 28 * MM  # what a heading has below it at least
ACROSS, PHOTO_MM, GAP_MM = 3, 44.0, 3.0
WRITE_MM = 9.0  # high enough to write into by hand (common practice, no source)
NOTE_HEADS = {"size": "zoom"}  # heads of the focus chart that are called otherwise than the note


def handover(job: Job, words: Words, letters: Letters) -> bytes:
    """The whole of it, as PDF."""
    head = Head(job.show, job.venue, words.titles["handover"], job.printed)
    paper = Paper(SIZES[job.size], head, words, letters)
    with TemporaryDirectory(prefix="focuscall-") as folder:  # pictures are drawn from files, undecoded
        sheet = _Sheet(paper, cast("Handed", job.handed), words, HANDOVER[job.language], Path(folder))
        paper.fresh()
        sheet.cover(job)
        sheet.focus()
        sheet.photos()
        sheet.check()
        sheet.faults()
        sheet.changed()
        sheet.to_write()
        return paper.bytes()


class _Sheet:
    def __init__(self, paper: Paper, told: Handed, words: Words, ours: HandoverWords, folder: Path) -> None:
        self.paper, self.told, self.words, self.ours, self.folder = paper, told, words, ours, folder

    def cover(self, job: Job) -> None:
        ours, told = self.ours, self.told
        self.paper.say(self.words.isolated)
        self.paper.say(self.words.hazard)
        self.paper.space(6)
        baseline = ours.no_baseline
        if told["baseline"]:
            name, count, checksum = told["baseline"]
            baseline = ours.baseline_is.format(name=name, count=count, checksum=checksum)
        there = "\n".join(f"{name} ({ours.roles.get(role, role)})" for name, role in told["there"])
        limits = "\n".join(
            f"{self.words.universe.format(universe=universe)}: {first} - {last}, {why}"
            for universe, first, last, why in job.off_limits
        )
        rows = [
            (ours.show, job.show or ours.unnamed),
            (ours.venue, job.venue or ours.unnamed),
            (ours.when, job.printed),
            (ours.by, told["by"]),
            (ours.baseline, baseline),
            (ours.limits, limits or ours.no_limits),
            (ours.there, there or ours.nobody),
        ]
        self._table({"item": 50, "is": 140}, [Group("", rows)])

    def focus(self) -> None:
        self._title(self.ours.focus)
        focused = self.told["focused"]
        if not focused:
            self._say(self.ours.no_focus)
            return
        marks = [row[4] for row, _ in focused]
        counts = {mark: marks.count(mark) for mark in ("done", "back", "todo")}
        self._say(self.ours.focus_counts.format(**counts))
        rows = []
        for (position, channel, unit, purpose, mark, who), notes in focused:
            if mark == "todo" and not notes:
                continue
            said = [f"{self._note(name)}{text}" for name, text in notes]
            cells = [channel, unit, purpose, "\n".join(said), self.ours.marks.get(mark, mark), who]
            rows.append([position, *cells])
        shares = {"channel": 15, "unit": 10, "purpose": 38, "note": 62, "mark": 22, "by": 33}
        if rows:
            self._table(shares, self._positions(rows))
        self._units("todo", [row for row, _ in focused if row[4] == "todo"])

    def _note(self, name: str) -> str:
        return "" if name == "words" else f"{self.words.heads[NOTE_HEADS.get(name, name)]}: "

    def photos(self) -> None:
        self._title(self.ours.photos)
        told = self.told["photos"]
        if not told:
            self._say(self.ours.no_photos)
        for at in range(0, len(told), ACROSS):
            self._photo_row(told[at : at + ACROSS], at)
        if self.told["left"]:
            self._say(self.ours.photos_left.format(count=self.told["left"]))

    def _photo_row(self, row: Sequence[tuple[str, str]], first: int) -> None:
        paper, gap = self.paper, GAP_MM * MM
        wide = (paper.width - (ACROSS - 1) * gap) / ACROSS
        captions = [paper.letters.lines(caption, wide, TEXT) for caption, _ in row]
        below = max(map(len, captions)) * TEXT * LEADING + gap
        if paper.room < PHOTO_MM * MM + below:
            paper.fresh()
        for at, (_, picture) in enumerate(row):
            (self.folder / f"{first + at}.jpg").write_bytes(base64.b64decode(picture))

        def draw(canvas: Canvas, top: float) -> None:
            for at, lines in enumerate(captions):
                x, y = paper.left + at * (wide + gap), top - PHOTO_MM * MM
                self._photo(canvas, self.folder / f"{first + at}.jpg", x, y, wide)
                for number, line in enumerate(lines):
                    paper.letters.draw(canvas, x, y - TEXT - number * TEXT * LEADING, line, TEXT)

        paper.put(PHOTO_MM * MM + below, draw)

    def _photo(self, canvas: Canvas, path: Path, x: float, y: float, wide: float) -> None:
        try:
            high = PHOTO_MM * MM
            canvas.drawImage(str(path), x, y, wide, high, preserveAspectRatio=True, anchor="sw")
        except Exception:  # whatever a stranger's picture does, the paper is made
            self.paper.letters.draw(canvas, x, y + TEXT, self.ours.photo_bad, TEXT)

    def check(self) -> None:
        ours, told = self.ours, self.told
        self._title(ours.check)
        if told["round"] is None:
            self._say(ours.no_check)
            return
        self._say(ours.check_counts.format(**told["round"], unproved=len(told["unproved"])))
        shares = {"channel": 15, "unit": 10, "found": 110, "by": 45}
        self._listed(shares, told["found"], ours.nothing_found)
        if told["unproved"]:
            self._units("unproved", told["unproved"])
        else:
            self._say(ours.all_proved)

    def faults(self) -> None:
        ours = self.ours
        self._title(ours.faults)
        rows = []
        for (position, channel, unit, wrong, status), steps in self.told["faults"]:
            story = [
                f"{when} {who} {self.words.steps.get(what, what)} {said}".strip()
                for when, who, what, said in steps
            ]
            rows.append([position, channel, unit, wrong, ours.status[status], "\n".join(story), ""])
        shares = {"channel": 15, "unit": 10, "wrong": 45, "status": 22, "story": 60, "used": 28}
        self._listed(shares, rows, ours.no_faults, ("used",))
        self._title(ours.out)
        self._listed({"channel": 15, "unit": 10, "reason": 110, "by": 45}, self.told["out"], ours.no_out)

    def changed(self) -> None:
        ours, told = self.ours, self.told
        self._title(ours.changed)
        self._say(ours.since_pack.format(when=told["since"]) if told["since"] else ours.since_opened)
        shares = {"channel": 40, "was": 50, "now": 50, "by": 40}
        if told["changed"]:
            self._table(shares, [Group("", told["changed"])])
        else:
            self._say(ours.no_changes)
        if told["unseen"]:
            self._say(ours.unseen.format(count=told["unseen"]))

    def to_write(self) -> None:
        ours = self.ours
        self._blank(ours.consumables, {"channel": 25, "used": 115, "many": 40}, 5)
        self._blank(ours.access, {"place": 70, "what": 110}, 4)
        self._blank(ours.flashing, {"what": 110, "is": 70}, 3)
        self._blank(ours.due, {"what": 110, "until": 70}, 3)
        self._title(ours.signatures)
        rows = [[ours.gives, "", ""], [ours.takes, "", ""]]
        self._table({"item": 40, "name": 65, "signed": 75}, [Group("", rows)], ("name", "signed"), 14)

    def _blank(self, title: str, shares: dict[str, int], lines: int) -> None:
        self._title(title, WRITE_MM * MM * lines)
        self._say(self.ours.write)
        self._table(shares, [Group("", [[""] * len(shares)] * lines)], tuple(shares), WRITE_MM)

    def _listed(
        self, shares: dict[str, int], rows: list[list[str]], none: str, write: Sequence[str] = ()
    ) -> None:
        if rows:
            self._table(shares, self._positions(rows), write)
        else:
            self._say(none)

    def _units(self, head: str, rows: Iterable[list[str]]) -> None:
        """Many units in few lines: those of each position, by channel, or by number without one."""
        told = []
        for position, there in groupby(rows, key=lambda row: row[0]):
            units = [row[1] or f"{self.ours.heads['unit']} {row[2]}" for row in there]
            told.append([position or self.words.no_position, ", ".join(units)])
        if told:
            self.paper.space(6)
            self._table({"place": 45, head: 135}, [Group("", told)])

    def _positions(self, rows: Iterable[list[str]]) -> Iterable[Group]:
        for position, there in groupby(rows, key=lambda row: row[0]):
            yield Group(position or self.words.no_position, [row[1:] for row in there])

    def _table(
        self, shares: dict[str, int], groups: Iterable[Group], write: Sequence[str] = (), row_mm: float = 0.0
    ) -> None:
        heads = self.ours.heads
        columns = [
            Column(heads[n], share, n in ("channel", "item"), n in write) for n, share in shares.items()
        ]
        lay(self.paper, columns, groups, row_mm)

    def _title(self, text: str, needed: float = 0.0) -> None:
        self.paper.space(10)
        if self.paper.room < LEFT_FOR + needed:
            self.paper.fresh()
        self.paper.say(text, TITLE, bold=True)
        self.paper.space(2)

    def _say(self, text: str, bold: bool = False) -> None:
        self.paper.say(text, TEXT, bold)
        self.paper.space(3)
