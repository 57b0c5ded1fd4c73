"""Tables on pages: headings again on each page, positions kept together where that helps, nothing cut."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from server.paperwork.printed.page import LEADING, MM, Paper

__all__ = ["Column", "Group", "lay"]

SIZE, HEADING = 8.5, 7.5
LEAST_HEADING = 5.5  # down to which headings shrink before a word of theirs is broken
PAD = 1.2 * MM
TOGETHER = 1 / 3  # of a page: rather than be split in the last third, a group begins on the next one
FEW = 2  # rows that at least stand under their group's name


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, its share of the width, whether it is bold, whether one writes into it."""

    head: str
    share: float
    bold: bool = False
    write: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that belong together, under a name; "" for none."""

    title: str
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True)
class _Row:
    """A row's cells in lines."""

    cells: tuple[tuple[str, ...], ...]
    least: float

    @property
    def height(self) -> float:
        return max(self.least, max(map(len, self.cells)) * SIZE * LEADING + PAD)

    def split(self, room: float) -> tuple["_Row", "_Row | None"]:
        """As much of it as fits into so many points, at least one line, and the rest."""
        fit = max(1, int((room - PAD) / (SIZE * LEADING)))
        first = _Row(tuple(cell[:fit] for cell in self.cells), min(self.least, room))
        rest = tuple(cell[fit:] for cell in self.cells)
        return first, _Row(rest, 0.0) if any(rest) else None


def lay(paper: Paper, columns: Sequence[Column], groups: Iterable[Group], row_mm: float = 0.0) -> None:
    """Put a table on the paper. row_mm: how high a row is at least."""
    table = _Table(paper, columns, row_mm * MM)
    for group in groups:
        table.add(group)


class _Table:
    def __init__(self, paper: Paper, columns: Sequence[Column], least: float) -> None:
        shares = sum(column.share for column in columns)
        self.paper, self.columns, self.least = paper, columns, least
        self.widths = [paper.width * column.share / shares for column in columns]
        self.heading = self._heading_size()
        self.headings = [
            paper.letters.lines(column.head, wide - PAD, self.heading, bold=True)
            for column, wide in zip(columns, self.widths, strict=True)
        ]
        self.heading_height = max(map(len, self.headings)) * self.heading * LEADING + PAD
        self.headed = -1  # the page whose headings stand already

    def add(self, group: Group) -> None:
        rows = [self._measured(row) for row in group.rows]
        title = self._titles(group.title)
        above = len(title) * (SIZE + 1.5) * LEADING + PAD if title else 0.0
        self._begin(above, rows)
        self._title(title)
        for whole in rows:
            row: _Row | None = whole
            while row is not None:
                if row.height > self.paper.room:
                    if row.height <= self._empty(above) or self.paper.room < 4 * SIZE:
                        self._over(group.title)
                    if row.height > self.paper.room:
                        row, rest = row.split(self.paper.room)
                        self._put(row)
                        row = rest
                        continue
                self._put(row)
                row = None

    def _heading_size(self) -> float:
        """At which no word of a heading is broken."""
        fits = HEADING
        for column, wide in zip(self.columns, self.widths, strict=True):
            longest = max(self.paper.letters.width(word, 1, bold=True) for word in column.head.split())
            fits = min(fits, (wide - PAD) / longest)
        return max(LEAST_HEADING, fits)

    def _empty(self, above: float) -> float:
        return self.paper.capacity - self.heading_height - above

    def _begin(self, above: float, rows: Sequence[_Row]) -> None:
        """A new page where the group had better begin there."""
        whole = above + sum(row.height for row in rows)
        few = above + sum(row.height for row in rows[:FEW])
        headings = 0.0 if self.headed == len(self.paper.pages) else self.heading_height
        room = self.paper.room - headings
        fits_alone = whole <= self.paper.capacity - self.heading_height
        late = self.paper.room < TOGETHER * self.paper.capacity
        # A group longer than a page gains nothing by it, unless not even its first rows would stand here.
        if room < min(few, self._empty(0.0)) or (room < whole and fits_alone and late):
            self.paper.fresh()
        self._headings()

    def _over(self, title: str) -> None:
        self.paper.fresh()
        self._headings()
        if title:
            self._title(self._titles(self.paper.words.continued.format(title=title)))

    def _titles(self, title: str) -> list[str]:
        return self.paper.letters.lines(title, self.paper.width, SIZE + 1.5, bold=True) if title else []

    def _title(self, lines: Sequence[str]) -> None:
        size, letters = SIZE + 1.5, self.paper.letters
        for line in lines:

            def draw(canvas: Canvas, top: float, line: str = line) -> None:
                letters.draw(canvas, self.paper.left, top - size - PAD / 2, line, size, bold=True)

            self.paper.put(size * LEADING, draw)
        if lines:
            self.paper.put(PAD, lambda canvas, top: self._rule(canvas, top - PAD + 0.6, 0.6, 0.0))

    def _headings(self) -> None:
        if self.headed == len(self.paper.pages):
            return
        self.headed = len(self.paper.pages)

        def draw(canvas: Canvas, top: float) -> None:
            x = self.paper.left
            for lines, wide in zip(self.headings, self.widths, strict=True):
                for at, line in enumerate(lines):
                    y = top - self.heading - at * self.heading * LEADING
                    self.paper.letters.draw(canvas, x + PAD / 2, y, line, self.heading, bold=True)
                x += wide
            self._rule(canvas, top - self.heading_height + 1, 0.8, 0.0)

        self.paper.put(self.heading_height, draw)

    def _measured(self, row: Sequence[str]) -> _Row:
        cells = (
            tuple(self.paper.letters.lines(text, wide - PAD, SIZE, column.bold)) if text else ()
            for text, wide, column in zip(row, self.widths, self.columns, strict=True)
        )
        return _Row(tuple(cells), max(self.least, SIZE * LEADING + PAD))

    def _put(self, row: _Row) -> None:
        height = row.height

        def draw(canvas: Canvas, top: float) -> None:
            x = self.paper.left
            for lines, wide, column in zip(row.cells, self.widths, self.columns, strict=True):
                for at, line in enumerate(lines):
                    y = top - SIZE - PAD / 3 - at * SIZE * LEADING
                    self.paper.letters.draw(canvas, x + PAD / 2, y, line, SIZE, column.bold)
                if column.write:
                    canvas.setStrokeGray(0.6)
                    canvas.setLineWidth(0.3)
                    canvas.line(x, top, x, top - height)
                    canvas.setStrokeGray(0)
                x += wide
            self._rule(canvas, top - height, 0.3, 0.6)

        self.paper.put(height, draw)

    def _rule(self, canvas: Canvas, y: float, thick: float, grey: float) -> None:
        canvas.setStrokeGray(grey)
        canvas.setLineWidth(thick)
        canvas.line(self.paper.left, y, self.paper.left + self.paper.width, y)
        canvas.setStrokeGray(0)
