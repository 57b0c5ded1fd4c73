"""Handing over by HTTP: the zip against what the server says otherwise, the last time, and who may."""

import csv
import io
import json
import zipfile
from typing import Any

import pytest
from pypdf import PdfReader

from tests.api.answers import given, problem
from tests.photos import jpeg
from tests.servers import Server

__all__: list[str] = []


def _zip(server: Server, **asked: str) -> zipfile.ZipFile:
    answer = server.client("lead").get("/api/handover.zip", params=asked)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/zip"
    assert answer.headers["content-disposition"].startswith('attachment; filename="handover-2')
    return zipfile.ZipFile(io.BytesIO(answer.content))


def _table(pack: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    text = pack.read(f"tables/{name}.csv").decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_zip_holds_what_the_server_says_by_its_other_calls(server: Server) -> None:
    lead, client = server.phone("lead"), server.client("lead")
    name = given(client.post("/api/photos?fixture=demo-23", content=jpeg((80, 60))), 201)["photo"]
    lead.ask("fault", fixture="demo-24", words="=Sum of all faults")
    lead.ask("check_round", level=0.3, begin=True)
    lead.ask("judge", fixture="demo-25", works=True)
    lead.ask("focus_note", fixture="demo-26", note={"spot": "Table"})
    with _zip(server, language="de") as pack:
        assert pack.testzip() is None
        fixtures = {f["id"]: f for f in given(client.get("/api/fixtures"))}
        patched = client.get("/api/rig/export.csv").content
        assert pack.read("tables/patch.csv") == patched
        said = json.loads(pack.read("pack.json"))
        assert {u["id"]: u["channel"] for u in said["units"]} == {
            i: f["channel"] for i, f in fixtures.items()
        }
        looks = given(client.get("/api/looks"))
        assert {row["Look"] for row in _table(pack, "looks")} == {look["name"] for look in looks}
        assert {(row["Channel"], row["Result"]) for row in _table(pack, "rig-check")} == {("25", "works")}
        assert "'=Sum of all faults" in {row["Symptom"] for row in _table(pack, "faults")}
        record = client.get("/api/record.csv").content.decode("utf-8-sig").splitlines()
        assert set(pack.read("tables/record.csv").decode("utf-8-sig").splitlines()) == set(record)
        assert "Table" in {row["Spot"] for row in _table(pack, "focus") if row["Channel"] == "26"}
        assert {row["Control"] for row in _table(pack, "positions")} == {"Pan", "Tilt"}
        pages = PdfReader(io.BytesIO(pack.read("handover.pdf")), strict=True).pages
        text = " ".join(" ".join(page.extract_text() for page in pages).split())
        assert "Übergabe" in text
        assert "=Sum of all faults" in text
        assert "1 gehen, 0 mit Fehler" in text
        assert sum(len(page.images) for page in pages) == 1
    given(client.delete(f"/api/photos/{name}"), 204)
    lead.ask("fault", fixture="demo-24", words=None)


def test_the_last_time_is_compared_with_now_and_so_is_a_file(server: Server) -> None:
    client = server.client("lead")
    _zip(server).close()
    before = given(client.get("/api/handover/last"))
    assert before["packs"][0]["venue"] == "Marrow Street Playhouse"
    differ = ("added", "gone", "moved", "readdressed", "retyped", "new", "over", "looks")
    assert all(before["compared"][kind] == [] for kind in differ)
    with _zip(server) as pack:
        data = pack.read("pack.json")
    was = next(f for f in given(client.get("/api/fixtures")) if f["id"] == "demo-28")
    given(client.patch("/api/fixtures/demo-28", json={"address": 450}))
    place = f"{was['channel']} ({was['position']}, {was['unit']})"
    expected = [
        {"unit": place, "was": f"{was['universe']}/{was['address']}", "now": f"{was['universe']}/450"}
    ]
    assert given(client.get("/api/handover/last"))["compared"]["readdressed"] == expected
    assert given(client.post("/api/handover/compare", content=data))["readdressed"] == expected
    given(client.patch("/api/fixtures/demo-28", json={"address": was["address"]}))
    assert "no such hand-over" in problem(client.get("/api/handover/last?pack=99"), 422)


@pytest.mark.parametrize("data", [b"Dear all", b"PK\x03\x04 no zip", b"{}", b'{"focuscall":"hand-over"}'])
def test_what_is_no_pack_is_refused_in_a_sentence(server: Server, data: bytes) -> None:
    said = problem(server.client("lead").post("/api/handover/compare", content=data), 422)
    assert said == "This is not a hand-over pack of focuscall."


def test_only_the_lead_hands_over(server: Server) -> None:
    for role in ("crew", "house"):
        client = server.client(role)
        answers: list[Any] = [client.get(f"/api/{place}") for place in ("handover.zip", "handover/last")]
        for answer in [*answers, client.post("/api/handover/compare", content=b"{}")]:
            assert problem(answer, 403) == "Only the lead can do that."
