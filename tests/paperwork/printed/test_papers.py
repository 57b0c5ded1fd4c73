"""The papers, read back with a library that is not the writer's."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.paperwork.printed.beam import BEAM
from server.paperwork.printed.papers import PAPERS
from server.paperwork.printed.rows import NOTES
from tests.papers import job, many, picture, printed, read, unit

__all__: list[str] = []

NOT_ISOLATED = "Level 0 is not isolated"


@pytest.mark.parametrize("name", PAPERS)
@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_each_paper_is_made_in_each_size_and_language(name: str, size: str, language: str) -> None:
    faulty = unit(22, fault="Pan stutters", fault_by="Mo", unit="4")
    found = read(printed(job(name, unit(21), faulty, size=size, language=language)))
    short, long = (210, 297) if size == "a4" else (215.9, 279.4)
    lies = PAPERS[name][0]
    assert found.sizes[0] == pytest.approx((long, short) if lies else (short, long), abs=0.01)
    assert ("Seite 1 von" if language == "de" else "Page 1 of") in found.pages[0]
    assert "LX 1" in found.text
    assert "22" in found.text


@pytest.mark.parametrize("name", PAPERS)
def test_a_rig_without_fixtures_makes_a_paper_that_says_so(name: str) -> None:
    assert "Nothing to print here." in read(printed(job(name))).text


def test_the_hookup_goes_by_channel() -> None:
    text = read(
        printed(job("hookup", unit(7, purpose="third"), unit(None, purpose="last"), unit(3, purpose="first")))
    )
    order = [text.text.index(word) for word in ("first", "third", "last")]
    assert order == sorted(order)


def test_the_schedule_goes_by_position_and_unit_and_says_what_to_mind() -> None:
    units = [unit(at, unit=number, purpose=f"p{number}.") for at, number in enumerate(("3", "3A", "4", "10"))]
    text = read(printed(job("schedule", *units, unit(9, position="")))).text
    order = [text.index(f"p{number}.") for number in ("3", "3A", "4", "10")]
    assert order == sorted(order)
    assert "Without a position" in text
    assert NOT_ISOLATED in text
    assert "licensed people come first" in text


def test_circuit_colour_and_template_of_its_own_sheet_are_printed() -> None:
    told = unit(21, said=("L14.", "D7.", "amber.", "leaves."), notes="Watts: 750")
    for name in ("hookup", "schedule"):
        text = read(printed(job(name, told))).text
        for word in ("L14.", "D7.", "amber.", "leaves.", "Watts: 750"):
            assert word in text, (name, word)
    assert "amber." in read(printed(job("focus-blank", told))).text


def test_the_fault_report_holds_what_is_wrong_and_nothing_else() -> None:
    units = [
        unit(1, purpose="fine"),
        unit(2, fault="smells hot", fault_by="Mo"),
        unit(3, out="lamp", out_by="Ann"),
        unit(4, past=(("2026-03-01 12:00", "Kit", "fixed", "new plug"),)),
    ]
    text = read(printed(job("faults", *units))).text
    assert "smells hot Mo" in text
    assert "Out of use: lamp Ann" in text
    assert "2026-03-01 12:00 Kit fixed new plug" in " ".join(text.split())
    assert "fine" not in text
    assert NOT_ISOLATED in text


def test_a_blank_focus_chart_leaves_to_the_hand_what_a_filled_one_tells() -> None:
    told = unit(21, beam=tuple(f"b{at}." for at in range(11)))
    filled, blank = (read(printed(job(name, told))).text for name in ("focus", "focus-blank"))
    assert all(f"b{at}." in filled for at in range(11))
    assert not any(f"b{at}." in blank for at in range(11))
    for text in (filled, blank):
        assert "Special A" in text
        assert "Hot spot" in text
        assert NOT_ISOLATED in text


def test_a_filled_focus_chart_prints_what_was_typed_in_the_call_and_by_whom_it_was_done() -> None:
    told = unit(21, beam=("",) * len(BEAM), focus=tuple(f"{name}-typed" for name in NOTES))
    papers = (read(printed(job(name, told))).text for name in ("focus", "focus-blank"))
    filled, blank = ("".join(text.split()) for text in papers)  # narrow columns break words
    assert all(f"{name}-typed" in filled for name in NOTES)
    assert "-typed" not in blank


def test_positions_go_on_over_pages_under_their_headings() -> None:
    found = read(printed(job("schedule", *many(200))))
    assert len(found.pages) > 4
    assert all("Purpose" in text for text in found.pages)
    assert all(f"Bar {at} " in f"{found.text} " for at in range(1, 18))
    assert sum(text.count("26-slot 16 bit") for text in found.pages) == 200


def test_paper_stays_mostly_white() -> None:
    for name in PAPERS:
        drawn = picture(printed(job(name, *many(40))), dots=72)
        shades = drawn.histogram()
        ink = sum((255 - shade) * count for shade, count in enumerate(shades)) / 255 / sum(shades)
        assert 0.005 < ink < 0.15, name


HOSTILE = st.text(max_size=60) | st.sampled_from(
    [
        "x" * 400,
        "\u202eabc\u202c",
        "שלום עולם",
        "💡🔥",
        "a\x00\x1b[31m",
        "\ud800",
        "<b>&amp;</b>",
        "%s {0} {page}",
    ]
)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(HOSTILE, HOSTILE, HOSTILE, HOSTILE), min_size=1, max_size=4),
    st.sampled_from([*PAPERS]),
)
def test_any_text_makes_a_paper_that_another_program_reads(
    texts: list[tuple[str, str, str, str]], name: str
) -> None:
    units = [
        unit(at, unit=a, position=b, purpose=c, notes=d, fault=a, fault_by=b, type=c, mode=d)
        for at, (a, b, c, d) in enumerate(texts)
    ]
    first = texts[0]
    found = read(
        printed(job(name, *units, show=first[0], venue=first[1], off_limits=[(2, 500, 512, first[2])]))
    )
    assert f"Page {len(found.pages)} of {len(found.pages)}" in found.pages[-1]
