"""Tables: headings on each page, positions kept together, long rows over pages."""

from collections.abc import Sequence

from server.paperwork.printed.letters import Letters
from server.paperwork.printed.page import Head, Paper
from server.paperwork.printed.sheets import SIZES
from server.paperwork.printed.table import Column, Group, lay
from server.paperwork.printed.words import LANGUAGES
from tests.papers import Read, read

__all__: list[str] = []

COLUMNS = (Column("Unit", 10), Column("Purpose", 60), Column("Signed", 20, write=True))


def _laid(groups: Sequence[Group], row_mm: float = 0.0) -> Read:
    paper = Paper(SIZES["a4"], Head("Show", "", "Table", "now"), LANGUAGES["en"], Letters())
    lay(paper, COLUMNS, groups, row_mm)
    return read(paper.bytes())


def _rows(name: str, count: int) -> list[tuple[str, str, str]]:
    return [(str(at), f"{name}-{at}.", "") for at in range(count)]


def test_headings_stand_on_every_page_and_each_row_once() -> None:
    found = _laid([Group("", _rows("row", 200))])
    assert len(found.pages) > 2
    assert all(text.count("Purpose") == 1 for text in found.pages)
    assert all(found.text.count(f"row-{at}.") == 1 for at in range(200))


def test_a_position_goes_on_under_its_name() -> None:
    found = _laid([Group("Bridge", _rows("bridge", 120))])
    assert "Bridge (continued)" not in found.pages[0]
    assert all("Bridge (continued)" in text for text in found.pages[1:])


def test_a_position_that_fits_on_a_page_is_not_split_at_the_foot_of_one() -> None:
    found = _laid([Group("Bridge", _rows("bridge", 38)), Group("LX 1", _rows("lx", 20))])
    assert len(found.pages) == 2
    assert "lx-0." not in found.pages[0]
    assert "(continued)" not in found.text


def test_a_position_that_begins_early_on_a_page_is_split_rather_than_half_the_page_lost() -> None:
    found = _laid([Group("Bridge", _rows("bridge", 20)), Group("LX 1", _rows("lx", 40))])
    assert "lx-0." in found.pages[0]
    assert "LX 1 (continued)" in found.pages[1]


def test_the_name_of_a_position_never_stands_alone_at_the_foot() -> None:
    for rows in range(30, 60):
        found = _laid([Group("Bridge", _rows("bridge", rows)), Group("LX 1", _rows("lx", 90))])
        first = next(text for text in found.pages if "LX 1" in text)
        assert "lx-0." in first, rows
        assert "lx-1." in first, rows


def test_a_row_that_is_longer_than_a_page_goes_on_and_no_word_of_it_is_lost() -> None:
    words = [f"word{at}." for at in range(2500)]
    found = _laid([Group("Bridge", [("1", " ".join(words), ""), ("2", "after", "")])])
    assert len(found.pages) > 2
    assert [word for word in found.text.split() if word.startswith("word")] == words
    assert "after" in found.pages[-1]
    assert all("Purpose" in text for text in found.pages)


def test_rows_are_as_high_as_one_can_write_into() -> None:
    low, high = (_laid([Group("", _rows("row", 60))], mm) for mm in (0.0, 12.0))
    assert len(high.pages) > len(low.pages)
