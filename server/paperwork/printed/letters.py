"""Letters on paper: which font has them, how wide they are, and where a line breaks."""

import unicodedata
from collections.abc import Iterable
from contextlib import suppress
from itertools import groupby
from pathlib import Path

import reportlab
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.pdfgen.canvas import Canvas

__all__ = ["LACKING", "Letters", "font_of_the_system"]

LACKING = "\u25ca"  # a lozenge: in the font that comes along, and in nobody's name
SHIPPED = tuple(Path(reportlab.__file__).parent / "fonts" / name for name in ("Vera.ttf", "VeraBd.ttf"))
# Fonts with Greek, Cyrillic and all of Latin that systems bring along, plain and bold.
OF_SYSTEMS = (
    (
        "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf",
        "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf",
    ),
    ("/usr/share/fonts/TTF/DejaVuSans.ttf", "/usr/share/fonts/TTF/DejaVuSans-Bold.ttf"),
    (
        "/usr/share/fonts/dejavu-sans-fonts/DejaVuSans.ttf",
        "/usr/share/fonts/dejavu-sans-fonts/DejaVuSans-Bold.ttf",
    ),
    (
        "/System/Library/Fonts/Supplemental/Arial.ttf",
        "/System/Library/Fonts/Supplemental/Arial Bold.ttf",
    ),
    ("C:/Windows/Fonts/arial.ttf", "C:/Windows/Fonts/arialbd.ttf"),
)
RIGHT_TO_LEFT = ("R", "AL")
DIGIT_HEIGHT = 0.729  # of the shipped font's size: read off its own outlines, `tests` measure it again


def font_of_the_system() -> tuple[Path, Path] | None:
    """Plain and bold of a font that has more letters than the shipped one; None where none is known."""
    pairs = [(Path(plain), Path(bold)) for plain, bold in OF_SYSTEMS]
    return next((pair for pair in pairs if all(path.is_file() for path in pair)), None)


class Letters:
    """Two weights of a font, and those of another for letters that the first lacks.

    A letter that neither has is printed without its accent where that is known, else as LACKING; so are
    letters that are written from right to left, as nothing here puts them in order. `lacked` tells that
    some were.
    """

    def __init__(self, also: tuple[Path, Path] | None = None) -> None:
        """also: plain and bold of the other font."""
        self._fonts = [_font("Shipped", *SHIPPED)]
        if also:
            with suppress(TTFError, OSError):
                self._fonts.append(_font("System", *also))
        self._known: dict[str, tuple[int, str]] = {}
        self._wide: dict[tuple[str, bool], float] = {}
        self.lacked = False

    def clean(self, text: str) -> str:
        """The text with only what can be printed in it; line breaks stay, other control characters go."""
        composed = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n"))
        return "".join(char if char == "\n" else self._letter(char)[1] for char in composed)

    def width(self, text: str, size: float, bold: bool = False) -> float:
        """Points that a clean text is wide in one line."""
        return size * sum(self._width(char, bold) for char in text)

    def lines(self, text: str, wide: float, size: float, bold: bool = False) -> list[str]:
        """A text in lines of at most so many points: broken between words, and inside one that is longer."""
        found: list[str] = []
        for paragraph in self.clean(text).split("\n"):
            found += self._broken(paragraph.split(), wide, size, bold)
        return found

    def draw(self, canvas: Canvas, x: float, y: float, text: str, size: float, bold: bool = False) -> float:
        """Write one line from x on, on the base line y. Returns where it ends."""
        for font, run in groupby(self.clean(text).replace("\n", " "), key=lambda char: self._letter(char)[0]):
            piece = "".join(run)
            canvas.setFont(self._fonts[font][bold].fontName, size)
            canvas.drawString(x, y, piece)
            x += self.width(piece, size, bold)
        return x

    def _broken(self, words: Iterable[str], wide: float, size: float, bold: bool) -> list[str]:
        found, line, at = [], "", 0.0
        space = self.width(" ", size, bold)
        for word in words:
            for piece in self._pieces(word, wide, size, bold):
                long = self.width(piece, size, bold)
                if line and at + space + long > wide:
                    found.append(line)
                    line, at = piece, long
                else:
                    line, at = (f"{line} {piece}", at + space + long) if line else (piece, long)
        return [*found, line]

    def _pieces(self, word: str, wide: float, size: float, bold: bool) -> list[str]:
        if self.width(word, size, bold) <= wide:
            return [word]
        found, at = [""], 0.0
        for char in word:
            step = size * self._width(char, bold)
            if found[-1] and at + step > wide:
                found.append("")
                at = 0.0
            found[-1] += char
            at += step
        return found

    def _letter(self, char: str) -> tuple[int, str]:
        """Which font, and what to write with it: the letter, another for it, or nothing."""
        if char not in self._known:
            self._known[char] = self._found(char)
        font, shown = self._known[char]
        self.lacked = self.lacked or (shown == LACKING != char)
        return font, shown

    def _found(self, char: str) -> tuple[int, str]:
        kind = unicodedata.category(char)
        if kind in ("Cc", "Zs", "Zl", "Zp"):
            return 0, " "
        if kind in ("Cf", "Mn", "Me"):  # what orders letters or hangs on them: unseen without its letter
            return 0, ""
        if unicodedata.bidirectional(char) not in RIGHT_TO_LEFT:
            for at, fonts in enumerate(self._fonts):
                if all(ord(char) in font.face.charToGlyph for font in fonts):
                    return at, char
            bare = unicodedata.normalize("NFKD", char)[:1]
            if bare != char and bare.isalnum() and ord(bare) in self._fonts[0][0].face.charToGlyph:
                return 0, bare
        return 0, LACKING

    def _width(self, char: str, bold: bool) -> float:
        """Of a size of 1."""
        if (char, bold) not in self._wide:
            font, shown = self._letter(char)
            self._wide[char, bold] = self._fonts[font][bold].stringWidth(shown, 1)
        return self._wide[char, bold]


def _font(name: str, plain: Path, bold: Path) -> tuple[TTFont, TTFont]:
    pair = TTFont(name, str(plain)), TTFont(f"{name}-Bold", str(bold))
    for font in pair:
        pdfmetrics.registerFont(font)
    return pair
