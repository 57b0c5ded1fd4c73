"""Letters on paper: nothing that comes in breaks a page, and nothing is swallowed without a word."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas

from server.paperwork.printed.letters import LACKING, Letters, font_of_the_system
from tests.papers import read

__all__: list[str] = []

ALONE = Letters()


def _page(letters: Letters, text: str, bold: bool = False) -> str:
    out = io.BytesIO()
    canvas = Canvas(out)
    letters.draw(canvas, 20, 700, text, 9, bold)
    canvas.showPage()
    canvas.save()
    return read(out.getvalue()).pages[0].strip()


def test_western_letters_are_in_the_font_that_comes_along() -> None:
    text = "Grün, çà, Öl, Łódź, Žižkov 3A – “off” €"
    letters = Letters()
    assert _page(letters, text, bold=True) == text.replace("ź", "z")  # without its accent, where it has none
    assert not letters.lacked


def test_what_no_font_has_is_a_lozenge_and_told() -> None:
    letters = Letters()
    assert letters.clean("Bar \u4e00\U0001f4a1") == f"Bar {LACKING}{LACKING}"
    assert letters.lacked


def test_what_is_written_from_right_to_left_is_not_printed_in_the_wrong_order() -> None:
    letters = Letters(font_of_the_system())
    assert letters.clean("שלום 3") == f"{LACKING * 4} 3"
    assert letters.lacked


def test_control_characters_and_marks_that_turn_text_around_go() -> None:
    letters = Letters()
    assert letters.clean("a\x00b\x1bc\td") == "a b c d"
    assert letters.clean("a\u202eb\u200bc\ufeff") == "abc"
    assert letters.clean("e\u0301") == "é"
    assert letters.clean("\ud800") == LACKING
    assert letters.clean("one\r\ntwo\rthree") == "one\ntwo\nthree"


def test_a_font_of_the_system_brings_what_the_other_lacks() -> None:
    also = font_of_the_system()
    if also is None:
        pytest.skip("no font that is known by name is installed")
    letters = Letters(also)
    assert "".join(_page(letters, "Łódź Αθήνα Москва ąęő").split()) == "ŁódźΑθήναМоскваąęő"
    assert not letters.lacked


def test_lines_break_between_words_and_inside_one_that_is_too_long() -> None:
    lines = ALONE.lines("one two three " + "x" * 60, 60, 9)
    assert lines[:2] == ["one two", "three"]
    assert "".join(lines[2:]) == "x" * 60
    assert ALONE.lines("a\n\nb", 60, 9) == ["a", "", "b"]
    assert ALONE.lines("", 60, 9) == [""]


@given(st.text(max_size=200), st.floats(8, 300))
def test_of_any_text_no_line_is_too_wide_and_nothing_is_lost(text: str, wide: float) -> None:
    lines = ALONE.lines(text, wide, 8.5)
    for line in lines:
        assert ALONE.width(line, 8.5) <= wide + 0.001 or len(line) == 1
    assert "".join("".join(lines).split()) == "".join(ALONE.clean(text).split())


@given(st.text(max_size=80))
def test_any_text_makes_a_page_that_another_program_reads(text: str) -> None:
    shown = ALONE.clean(text).replace("\n", " ")
    assert "".join(_page(ALONE, text).split()) == "".join(shown.split())
