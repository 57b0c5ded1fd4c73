"""The hand-over on paper, read back with a library that is not the writer's."""

import base64
import io
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from pypdf import PdfReader

from server.paperwork.printed.handed import Handed, handed
from server.stage.state import State
from tests.handovers import AT, packed, worked
from tests.papers import Read, job, picture, printed, read
from tests.photos import jpeg

__all__: list[str] = []

THERE = [("Mo", "lead"), ("Kit", "crew")]


def paper(told: Handed, **more: object) -> bytes:
    return printed(job("handover", handed=told, **more))


def told_of(state: State, *pictures: bytes) -> Handed:
    units = list(state.fixtures)
    shown = {units[at]: base64.b64encode(body).decode() for at, body in enumerate(pictures)}
    return handed(state, "mo", THERE, packed(state), None, shown)


def pictures_in(pdf: bytes) -> list[bytes]:
    """The JPEGs as they lie in it: pypdf leaves what DCTDecode stands for as it is."""
    pages = PdfReader(io.BytesIO(pdf), strict=True).pages
    resources: list[Any] = [page["/Resources"].get_object() for page in pages]
    found = (there.get("/XObject", {}) for there in resources)
    return [each.get_object().get_data() for there in found for each in there.values()]


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_it_says_what_was_done_what_is_wrong_and_leaves_lines_for_the_rest(size: str) -> None:
    state = worked()
    limits = [(1, 500, 512, "house lights")]
    found = read(paper(told_of(state, jpeg()), size=size, off_limits=limits))
    at = datetime.fromtimestamp(AT).astimezone().strftime("%Y-%m-%d %H:%M")
    for words in (
        "Hand-over",
        "Marrow Street Playhouse",
        "Preset: 2 fixtures, checksum of its values",
        "500 - 512, house lights",
        "Kit (crew)",
        "1 done, 0 to come back to, 2 to do.",
        "Hot spot: 2 m SL",
        "=off the border",
        f"Kit {at}",
        f"begun {at} by Mo, lit at 30 %: 1 work, 1 with a fault",
        "Weak light: lamp?",
        "Yoke bent",
        "seen to work",
        "clamp is loose",
        "Consumables used",
        "Where access equipment was left",
        "Strobe and haze limits",
        "Signatures",
        "Level 0 is not isolated",
    ):
        assert words in found.text, words
    assert found.text.count("Not known to the laptop") == 4


def test_what_is_missing_is_said_to_be_missing() -> None:
    state = State(people=worked().people)
    for language, words in (
        ("en", ("no unit is on the focus list", "no photo was taken", "no rig check", "No fault is written")),
        ("de", ("Fehlt: Kein Gerät steht", "kein Foto", "wurde nicht geprüft", "kein Fehler notiert")),
    ):
        text = read(paper(told_of(state), language=language)).text
        for each in words:
            assert each in text, each
    assert "Missing" not in text


def test_there_is_a_picture_of_each_photo_as_it_was_taken() -> None:
    state = worked()
    state.photos |= {f"of-{f}": replace(state.photos["p1"], fixture=f) for f in ("b", "c")}
    pictures = [jpeg((40 + at, 30)) for at in range(3)]
    assert sorted(pictures_in(paper(told_of(state, *pictures)))) == sorted(pictures)


def test_a_picture_that_is_none_does_not_stop_the_paper() -> None:
    pdf = paper(told_of(worked(), b"\xff\xd8 no picture at all"))
    assert pictures_in(pdf) == []
    assert "cannot be printed" in read(pdf).text


def test_addresses_that_changed_are_told_with_what_they_were() -> None:
    state = worked()
    then = packed(state, AT - 9e4)
    state.fixtures["a"] = replace(state.fixtures["a"], address=101)
    text = read(paper(handed(state, "mo", THERE, packed(state), then, {}))).text
    assert "Since the hand-over of" in text
    told = text[text.index("Since the hand-over of") :]
    assert "1 (LX 1, 1)" in told
    assert told.index("1/1 ") < told.index("1/101")
    unchanged = read(paper(told_of(worked()))).text
    assert "Since the show was opened" in unchanged


def test_a_large_rig_stays_a_few_pages() -> None:
    state = worked()
    one = state.fixtures["c"]
    more = {f"m{n}": replace(one, id=f"m{n}", channel=n, unit=str(n), address=n) for n in range(100, 500)}
    state.fixtures |= more
    state.order = tuple(state.fixtures)
    found: Read = read(paper(told_of(state)))
    assert len(found.pages) < 8
    assert all(str(n) in found.text for n in (100, 321, 499))


def test_paper_stays_mostly_white() -> None:
    shades = picture(paper(told_of(worked())), dots=72).histogram()
    ink = sum((255 - shade) * count for shade, count in enumerate(shades)) / 255 / sum(shades)
    assert 0.005 < ink < 0.15
