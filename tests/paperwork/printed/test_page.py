"""Pages: what each says at its top, in both sizes, and when they are full."""

import pytest

from server.paperwork.printed.letters import Letters
from server.paperwork.printed.page import Head, Paper
from server.paperwork.printed.sheets import SIZES
from server.paperwork.printed.words import LANGUAGES
from tests.papers import read

__all__: list[str] = []


def _paper(size: tuple[float, float] = SIZES["a4"], show: str = "The Salt Ferry") -> Paper:
    head = Head(show, "Marrow Street Playhouse", "Fault report", "2026-11-25 14:05")
    return Paper(size, head, LANGUAGES["en"], Letters())


@pytest.mark.parametrize(("name", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_a_page_has_the_size_that_was_asked_for(name: str, size: tuple[float, float]) -> None:
    # ISO 216: A4 is 210 x 297 mm. US Letter: 8.5 x 11 inches of 25.4 mm.
    paper = _paper(SIZES[name])
    paper.fresh()
    assert read(paper.bytes()).sizes == [pytest.approx(size, abs=0.01)]


def test_every_page_says_show_venue_paper_time_and_which_of_how_many() -> None:
    paper = _paper()
    for _ in range(3):
        paper.fresh()
    found = read(paper.bytes()).pages
    for number, text in enumerate(found, 1):
        assert "The Salt Ferry, Marrow Street Playhouse" in text
        assert "Fault report" in text
        assert "Printed 2026-11-25 14:05. May be out of date" in text
        assert f"Page {number} of 3" in text


def test_a_long_name_of_a_show_takes_more_lines_and_less_is_left_for_the_rest() -> None:
    long = _paper(show="A very long night " * 12)
    long.fresh()
    text = " ".join(read(long.bytes()).pages[0].split())
    assert ("A very long night " * 12).strip() in text
    assert long.capacity < _paper().capacity - 30


def test_a_paragraph_goes_on_over_pages_and_no_word_of_it_is_lost() -> None:
    paper = _paper()
    paper.fresh()
    words = [f"word{at}" for at in range(4000)]
    paper.say(" ".join(words))
    found = read(paper.bytes())
    assert len(found.pages) > 1
    assert [word for word in found.text.split() if word.startswith("word")] == words


def test_a_letter_that_is_lacking_is_explained_on_the_page() -> None:
    paper = _paper()
    paper.fresh()
    paper.say("\u4e00")
    assert "stands for a letter" in read(paper.bytes()).pages[0]
