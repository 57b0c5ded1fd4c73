"""Pages with a head that says what, where, when and which: filled from the top, drawn once all are known."""

import io
from collections.abc import Callable
from dataclasses import dataclass, field

from reportlab.pdfgen.canvas import Canvas

from server.paperwork.printed.letters import Letters
from server.paperwork.printed.words import Words

__all__ = ["LEADING", "MM", "Head", "Paper"]

MM = 72 / 25.4  # points in a millimetre
EDGE = 10 * MM  # what printers leave white at most (common practice, no source)
LEADING = 1.22  # lines apart, of the letters' size
TITLE, SMALL = 11.0, 7.5

Draw = Callable[[Canvas], None]


@dataclass(frozen=True, slots=True)
class Head:
    """What stands at the top of each page: the show and its venue, what paper it is, when it was printed."""

    show: str
    venue: str
    title: str
    printed: str


@dataclass(slots=True)
class Paper:
    """One paper of so many pages as it takes.

    size: width and height in mm. y: how far down it is filled, in points from below. Nothing is drawn before
    `bytes`, as each page tells how many there are.
    """

    size: tuple[float, float]
    head: Head
    words: Words
    letters: Letters
    y: float = 0.0
    pages: list[list[Draw]] = field(default_factory=list)

    @property
    def width(self) -> float:
        """Points between the edges."""
        return self.size[0] * MM - 2 * EDGE

    @property
    def left(self) -> float:
        """Where a line begins, in points."""
        return EDGE

    @property
    def room(self) -> float:
        """Points that are left on this page; nothing before the first."""
        return self.y - EDGE - SMALL * LEADING if self.pages else 0.0

    @property
    def capacity(self) -> float:
        """Points of an empty page."""
        return self.size[1] * MM - 2 * EDGE - self._head_height() - SMALL * LEADING

    def fresh(self) -> None:
        """Go on with a new page."""
        self.pages.append([])
        self.y = self.size[1] * MM - EDGE - self._head_height()

    def put(self, height: float, draw: Callable[[Canvas, float], None]) -> None:
        """Fill so many points. draw: is given the canvas and where the top of them is."""
        top = self.y
        self.pages[-1].append(lambda canvas: draw(canvas, top))
        self.y -= height

    def say(self, text: str, size: float = SMALL, bold: bool = False) -> None:
        """A paragraph over the whole width, over several pages when it is long."""
        for line in self.letters.lines(text, self.width, size, bold):
            if self.room < size * LEADING:
                self.fresh()
            self.put(size * LEADING, self._line(line, size, bold))

    def space(self, points: float) -> None:
        """Leave some room, unless the page is full anyway."""
        self.y -= min(points, max(0.0, self.room))

    def bytes(self) -> bytes:
        """The PDF."""
        out = io.BytesIO()
        canvas = Canvas(out, pagesize=(self.size[0] * MM, self.size[1] * MM), pageCompression=1)
        canvas.setTitle(f"{self.head.title}: {self.letters.clean(self.head.show)}")
        canvas.setAuthor("focuscall")
        for number, page in enumerate(self.pages, 1):
            self._draw_head(canvas, self.words.page.format(page=number, pages=len(self.pages)))
            for draw in page:
                draw(canvas)
            if self.letters.lacked:
                self.letters.draw(canvas, EDGE, EDGE * 0.75, self.words.lacking, SMALL)
            canvas.showPage()
        canvas.save()
        return out.getvalue()

    def _line(self, text: str, size: float, bold: bool) -> Callable[[Canvas, float], None]:
        return lambda canvas, top: _ignore(self.letters.draw(canvas, EDGE, top - size, text, size, bold))

    def _head_lines(self) -> list[str]:
        named = ", ".join(part for part in (self.head.show, self.head.venue) if part) or "focuscall"
        return self.letters.lines(named, self.width * 0.62, TITLE, bold=True)

    def _head_height(self) -> float:
        return len(self._head_lines()) * TITLE * LEADING + SMALL * LEADING + 6

    def _draw_head(self, canvas: Canvas, count: str) -> None:
        y, right = self.size[1] * MM - EDGE - TITLE, self.size[0] * MM - EDGE
        title = self.letters.clean(self.head.title)
        self.letters.draw(
            canvas, right - self.letters.width(title, TITLE, bold=True), y, title, TITLE, bold=True
        )
        for line in self._head_lines():
            self.letters.draw(canvas, EDGE, y, line, TITLE, bold=True)
            y -= TITLE * LEADING
        y += TITLE - SMALL
        self.letters.draw(canvas, EDGE, y, self.words.printed.format(printed=self.head.printed), SMALL)
        self.letters.draw(canvas, right - self.letters.width(count, SMALL), y, count, SMALL)
        canvas.setLineWidth(0.8)
        canvas.line(EDGE, y - 3, right, y - 3)


def _ignore(_: object) -> None:
    return None
