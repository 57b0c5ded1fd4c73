"""Papers over HTTP: who gets which, in what size, and how light stays while they are made."""

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import httpx
import pytest
import zxingcpp

from tests.api.answers import given, problem
from tests.papers import picture, read
from tests.servers import Server

__all__: list[str] = []

NAMES = ("hookup", "schedule", "addresses", "focus", "focus-blank", "faults")


def _pdf(answer: httpx.Response, name: str) -> bytes:
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"] == f'attachment; filename="{name}.pdf"'
    assert answer.headers["cache-control"] == "no-store"
    return answer.content


@pytest.mark.parametrize("name", NAMES)
def test_lead_and_crew_get_each_paper(server: Server, name: str) -> None:
    role = "lead" if name == "faults" else "crew"
    found = read(_pdf(server.client(role).get(f"/api/papers/{name}.pdf"), name))
    assert "The Salt Ferry, Marrow Street Playhouse" in found.pages[0]
    assert found.sizes[0] == pytest.approx((210, 297) if name == "addresses" else (297, 210), abs=0.01)


def test_a_paper_comes_in_the_size_and_language_asked_for(server: Server) -> None:
    asked = {"size": "letter", "language": "de"}
    found = read(_pdf(server.client().get("/api/papers/schedule.pdf", params=asked), "schedule"))
    assert found.sizes[0] == pytest.approx((279.4, 215.9), abs=0.01)
    assert "Seite 1 von" in found.pages[0]


def test_house_staff_get_house_fixtures_only(server: Server) -> None:
    house = server.client("house")
    marked = {f["channel"] for f in given(house.get("/api/fixtures")) if f["house"]}
    text = read(_pdf(house.get("/api/papers/hookup.pdf"), "hookup")).text
    assert "House show light left" in text
    assert "Special A" not in text
    labels = read(_pdf(house.get("/api/papers/labels.pdf"), "labels")).text
    assert labels.count("Universe") == len(marked)
    refused = house.get("/api/papers/labels.pdf", params={"fixture": ["demo-1", "demo-21"]})
    assert "does not exist" in problem(refused, 422)


def test_whoever_has_not_joined_gets_none(server: Server) -> None:
    problem(server.client(None).get("/api/papers/hookup.pdf"), 401)
    problem(server.client(None).get("/api/papers/labels.pdf"), 401)


def test_a_fault_that_was_just_written_down_is_on_the_paper(server: Server) -> None:
    phone = server.phone("crew", "Nadia")
    assert phone.ask("fault", fixture="demo-22", words="Pan stutters past half")["is"] == "ok"
    text = read(server.client().get("/api/papers/faults.pdf").content).text
    assert "Pan stutters past half Nadia" in text
    phone.ask("fault", fixture="demo-22", words=None)


def test_a_filled_focus_chart_tells_what_is_asked_now(server: Server) -> None:
    phone = server.phone("crew")
    assert phone.ask("set", fixture="demo-21", values={"Pan": {"physical": 90.0}})["is"] == "ok"
    assert "90.0°" in read(server.client().get("/api/papers/focus.pdf").content).text
    assert "90.0°" not in read(server.client().get("/api/papers/focus-blank.pdf").content).text
    phone.ask("let_go", fixture="demo-21")


def test_labels_of_chosen_fixtures_carry_their_identity_and_where_the_page_is(server: Server) -> None:
    asked: dict[str, Any] = {"fixture": ["demo-21", "demo-1"], "stock": "a4-21", "skip": 20}
    pdf = _pdf(server.client("crew").get("/api/papers/labels.pdf", params=asked), "labels")
    assert len(read(pdf).pages) == 2
    found = [found.text for page in (0, 1) for found in zxingcpp.read_barcodes(picture(pdf, page))]
    where = f"HTTP://127.0.0.1:{server.port}/F/"
    assert found == [f"{where}DEMO-1", f"{where}DEMO-21"]


def test_labels_of_a_position_and_for_a_roll(server: Server) -> None:
    asked: dict[str, Any] = {"position": "Boom left", "stock": "roll", "width": 62, "height": 29}
    found = read(server.client().get("/api/papers/labels.pdf", params=asked).content)
    assert len(found.pages) == 5
    assert all("Boom left" in text for text in found.pages)
    assert found.sizes[0] == pytest.approx((62, 29), abs=0.01)


def test_what_cannot_be_printed_is_refused_in_words(server: Server) -> None:
    lead = server.client()
    for path, words in (
        ("labels.pdf?stock=a4-24&skip=24", "24 labels"),
        ("labels.pdf?position=Nowhere", "no fixture"),
        ("labels.pdf?fixture=no-such", "does not exist"),
        ("labels.pdf?stock=roll&width=5", "width"),
        ("labels.pdf?stock=roll&width=nan", "width"),
        ("labels.pdf?stock=gold", "stock"),
        ("hookup.pdf?size=a3", "size"),
        ("hookup.pdf?language=xx", "language"),
        ("will.pdf", "name"),
    ):
        assert words in problem(lead.get(f"/api/papers/{path}"), 422), path


def test_light_goes_on_and_touches_are_answered_while_papers_are_made(server: Server) -> None:
    phone = server.phone("crew")
    lead = server.client()
    with ThreadPoolExecutor(4) as pool:
        papers = [pool.submit(lead.get, f"/api/papers/{name}.pdf") for name in NAMES[:4]]
        touched = 0
        while not all(paper.done() for paper in papers):
            level = touched % 200 / 255
            assert phone.ask("set", fixture="demo-1", values={"Dimmer": level})["is"] == "ok"
            touched += 1
        assert touched > 4  # answered in between, each before the next was asked
        assert all(paper.result().status_code == 200 for paper in papers)
    server.sacn.until_slot(1, 1, (touched - 1) % 200)
    phone.ask("let_go", fixture="demo-1")


def test_more_papers_than_anybody_waits_for_are_refused_for_now(server: Server) -> None:
    lead = server.client()
    with ThreadPoolExecutor(12) as pool:
        asked = [pool.submit(lead.get, "/api/papers/faults.pdf") for _ in range(12)]
        answers = [each.result() for each in asked]
    done = [a for a in answers if a.status_code == 200]
    busy = [a for a in answers if a.status_code == 503]
    assert len(done) + len(busy) == 12
    assert len(done) >= 8
    for answer in busy:
        assert "Try again" in problem(answer, 503)
        assert int(answer.headers["retry-after"]) > 0
    assert lead.get("/api/papers/faults.pdf").status_code == 200
