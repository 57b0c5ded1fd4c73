"""Labels for units: sheets of common sizes and rolls, big enough to read from a lift, with a code to scan."""

import io
from collections.abc import Iterable, Iterator
from urllib.parse import quote

import segno
from reportlab.pdfgen.canvas import Canvas

from server.paperwork.printed.letters import DIGIT_HEIGHT, Letters
from server.paperwork.printed.page import LEADING, MM
from server.paperwork.printed.rows import Job, Unit
from server.paperwork.printed.sheets import stock_of
from server.paperwork.printed.words import Words
from server.rig.switches import ADDRESS_SWITCHES, drawn, switches_of

__all__ = ["code_text", "labels"]

QUIET = 4  # modules of white around a code; ISO/IEC 18004 (from memory)
LEAST_MODULE = 0.33 * MM  # what a phone's camera still reads off paper (common practice, no source)
READABLE = 10 * MM  # letters that are read from a lift, where the label has room for them
SWITCH = (2.5 * MM, 3.4 * MM)  # one of a bank
ROOMY = 27 * MM  # a label so high has room for text in its full size
LEAST_SHARE = 0.72  # of it, on a lower one
TALLEST = 18 * MM
WIDEST = 26 * MM  # a code that is scanned from arm's length


def code_text(page: str, fixture: str) -> str:
    """What a label's code holds: a unit's address on the page, in capitals, which makes the smallest code."""
    return f"HTTP://{page.upper()}/F/{quote(fixture.upper(), safe='')}"


def labels(job: Job, words: Words, letters: Letters) -> bytes:
    """The labels as PDF, in the order of the job, its first `skip` places left free."""
    stock = stock_of(job.stock, job.width, job.height)
    out = io.BytesIO()
    size = (stock.page[0] * MM, stock.page[1] * MM)
    canvas = Canvas(out, pagesize=size, pageCompression=1)
    canvas.setTitle(words.titles["labels"])
    canvas.setAuthor("focuscall")
    skip = min(job.skip, stock.each - 1)
    for at, unit in enumerate(job.units, skip):
        place = at % stock.each
        if place == 0 and at > skip:
            canvas.showPage()
        x, y = stock.corner(place)
        wide, high = stock.label[0] - 2 * stock.inset[0], stock.label[1] - 2 * stock.inset[1]
        x, y = x + stock.inset[0], y + stock.inset[1]
        box = (x * MM, size[1] - (y + high) * MM, wide * MM, high * MM)
        _Label(canvas, letters, words, box).draw(unit, job.page)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


class _Label:
    """One label. box: left, lower edge, width and height of what is printed, in points."""

    def __init__(
        self, canvas: Canvas, letters: Letters, words: Words, box: tuple[float, float, float, float]
    ) -> None:
        self.canvas, self.letters, self.words = canvas, letters, words
        self.left, self.low, self.wide, self.high = box
        self.floor = self.low

    def draw(self, unit: Unit, page: str) -> None:
        beside, below = self._code(unit, page)
        wide, y = self.wide - beside, self.low + self.high
        self.floor = self.low + below
        y -= self._channel(unit, wide)
        place = self.words.place.format(position=unit.position, unit=unit.unit)
        place = place if unit.position and unit.unit else unit.position or unit.unit
        share = min(1.0, max(LEAST_SHARE, self.high / ROOMY))
        y = self._text(y, place, wide, 11 * share, bold=True)
        for line in self._listens(unit, wide):
            y = self._text(y, line, wide, 8.5 * share, bold=True)
        y = self._text(y, unit.mode, wide, 7.5 * share)
        y = self._switches(y, unit, wide)
        self._text(y, unit.type, wide, 6.5 * share)

    def _listens(self, unit: Unit, wide: float) -> list[str]:
        """Universe and address, in two lines where one would be too small to read."""
        if not unit.spans:
            return [self.words.not_patched]
        return [line for span in unit.spans for line in self._listens_at(*span[:2], wide)]

    def _listens_at(self, universe: int, address: int, wide: float) -> list[str]:
        said = [
            self.words.universe.format(universe=universe),
            self.words.address.format(address=address),
        ]
        line = "  ".join(said)
        return [line] if self.letters.width(line, 7, bold=True) <= wide else said

    def _code(self, unit: Unit, page: str) -> tuple[float, float]:
        """The code and what it says in words, at the right, or at the foot of a tall label.

        Returns how much of the width and of the height that takes.
        """
        caption = 5.0
        tall = self.high > 1.2 * self.wide
        code = segno.make(code_text(page, unit.id), error="m", micro=False)
        modules = len(code.matrix) + 2 * QUIET
        words = 2 * caption * LEADING
        side = min(self.wide, 0.45 * self.high) if tall else min(self.high - words, self.wide * 0.4)
        side = min(side, WIDEST)
        module = side / modules
        if module < LEAST_MODULE:
            return 0.0, 0.0
        left = self.left if tall else self.left + self.wide - side
        top = self.low + side + words if tall else self.low + self.high
        path = self.canvas.beginPath()
        for column, row, run in _runs(code.matrix):
            x, y = left + (column + QUIET) * module, top - (row + QUIET + 1) * module
            path.rect(x, y, run * module, module)
        self.canvas.drawPath(path, stroke=0, fill=1)
        for at, line in enumerate((page, unit.id)):
            shown, size = self._fitted(line, side - QUIET * module, caption, False, least=3.8)
            y = top - side - caption * (0.8 + at * LEADING)
            self.letters.draw(self.canvas, left + QUIET * module, y, shown, size)
        return (0.0, side + words) if tall else (side, 0.0)

    def _channel(self, unit: Unit, wide: float) -> float:
        """The number that is called, as high as the label allows. Returns the height it takes."""
        text = self.letters.clean("–" if unit.channel is None else str(unit.channel))
        tall = min(TALLEST, max(READABLE, 0.36 * self.high), 0.6 * self.high)
        size = min(tall / DIGIT_HEIGHT, wide / max(0.1, self.letters.width(text, 1, bold=True)))
        tall = size * DIGIT_HEIGHT
        self.letters.draw(self.canvas, self.left, self.low + self.high - tall, text, size, bold=True)
        return tall + 0.8 * MM

    def _switches(self, y: float, unit: Unit, wide: float) -> float:
        """The start address on a bank of nine switches, if there is room. Returns where the next begins."""
        address, (across, high) = unit.spans[0][1] if len(unit.spans) == 1 else 0, SWITCH
        has_room = y - high - 6 >= self.floor and wide >= 12 * across
        if not has_room or not 1 <= address < 1 << ADDRESS_SWITCHES:
            return y
        low, x = y - 1 - high, self.left
        self.canvas.setLineWidth(0.4)
        for number, is_up in drawn(switches_of(address)):
            self.canvas.rect(x, low, 0.8 * across, high)
            self.canvas.rect(x, low + (high / 2 if is_up else 0), 0.8 * across, high / 2, stroke=0, fill=1)
            self.letters.draw(self.canvas, x + across * 0.2, low - 4.4, str(number), 4.5)
            x += across
        self.letters.draw(self.canvas, x, low + high - 4, self.words.on, 4.5)
        return low - 6

    def _text(self, y: float, text: str, wide: float, size: float, bold: bool = False) -> float:
        """One line below y, smaller where it is long. Returns where the next may begin."""
        shown, size = self._fitted(text, wide, size, bold)
        if y - size < self.floor - 1 or not shown:
            return y
        self.letters.draw(self.canvas, self.left, y - size * 0.85, shown, size, bold)
        return y - size * LEADING

    def _fitted(
        self, text: str, wide: float, size: float, bold: bool, least: float = 5.0
    ) -> tuple[str, float]:
        """The text at that size or down to `least` points; what still is too long ends in three points."""
        shown = self.letters.clean(text.replace("\n", " "))
        long = self.letters.width(shown, size, bold)
        if long > wide:
            size = max(least, size * wide / long)
        if self.letters.width(shown, size, bold) > wide * 1.001:
            while shown and self.letters.width(f"{shown}…", size, bold) > wide:
                shown = shown[:-1]
            shown = f"{shown.rstrip()}…"
        return shown, size


def _runs(matrix: Iterable[Iterable[int]]) -> Iterator[tuple[int, int, int]]:
    """The dark modules of a code, as column, row, and how many beside each other."""
    for y, row in enumerate(matrix):
        start = None
        for x, dark in enumerate((*row, 0)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                yield start, y, x - start
                start = None
