"""What is printed on: sizes of paper, and kinds of labels. The server knows them, and draws nothing."""

from dataclasses import dataclass

__all__ = ["SIZES", "STOCKS", "Stock", "stock_of"]

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm; ISO 216, and ANSI/ASME Y14.1 size A
INSET = 2.2  # mm; printers miss by as much (common practice, no source)
UNPRINTED = 4.5  # mm along the edges of a sheet that many printers leave white (common practice, no source)


@dataclass(frozen=True, slots=True)
class Stock:
    """A kind of labels, in mm: the page, how many across and down, one label, and the gap between two.

    They lie in the middle of the page.
    """

    page: tuple[float, float]
    across: int
    down: int
    label: tuple[float, float]
    gap: tuple[float, float] = (0.0, 0.0)

    @property
    def each(self) -> int:
        """Labels on a page."""
        return self.across * self.down

    @property
    def inset(self) -> tuple[float, float]:
        """What stays white inside each label, left and right, above and below, so that all print alike."""
        if self.each == 1:
            return INSET, INSET
        left, top = self.corner(0)
        return max(INSET, UNPRINTED - left), max(INSET, UNPRINTED - top)

    def corner(self, at: int) -> tuple[float, float]:
        """Left and upper edge of label 0.. of a page, from its upper left corner."""
        down, across = divmod(at, self.across)
        (wide, high), (gap_x, gap_y) = self.label, self.gap
        left = (self.page[0] - self.across * wide - (self.across - 1) * gap_x) / 2
        top = (self.page[1] - self.down * high - (self.down - 1) * gap_y) / 2
        return left + across * (wide + gap_x), top + down * (high + gap_y)


STOCKS = {
    "a4-24": Stock(SIZES["a4"], 3, 8, (70.0, 37.0)),
    "a4-21": Stock(SIZES["a4"], 3, 7, (63.5, 38.1), (2.5, 0.0)),
    "letter-30": Stock(SIZES["letter"], 3, 10, (66.7, 25.4), (3.1, 0.0)),
}


def stock_of(name: str, width: float, height: float) -> Stock:
    """The stock of that name; "roll": one label a page, of that size in mm."""
    return STOCKS[name] if name in STOCKS else Stock((width, height), 1, 1, (width, height))
