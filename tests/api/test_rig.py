"""The rig as a file over HTTP: a report first, then all of it or nothing, and out again."""

import io
import zipfile
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from tests.api.answers import given, problem
from tests.paperwork.mvr_files import layer, mvr, unit
from tests.servers import Server, serving

__all__: list[str] = []


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: fixtures that go out and come in again have other ids."""
    with serving(tmp_path_factory.mktemp("rig") / "data") as server:
        yield server


def _send(client: httpx.Client, data: bytes, check: bool = False, **more: Any) -> httpx.Response:
    query = {"check": "true", **more} if check else more
    return client.post("/api/rig/import", params=query, files={"file": ("rig.csv", data)})


def test_a_drawing_that_is_taken_out_comes_back_as_nothing_new(server: Server) -> None:
    lead = server.client()
    out = server.client("house").get("/api/rig/export.mvr")
    assert out.content[:2] == b"PK"
    report = given(_send(lead, out.content, check=True))
    assert {name: report[name] for name in ("added", "changed", "removed", "problems")} == {
        "added": [],
        "changed": [],
        "removed": [],
        "problems": [],
    }


def test_what_is_taken_out_comes_back_as_nothing_new(server: Server) -> None:
    lead = server.client()
    out = server.client("house").get("/api/rig/export.csv")
    assert out.headers["content-type"].startswith("text/csv")
    report = given(_send(lead, out.content, check=True))
    columns = report.pop("columns")
    lists = ("added", "changed", "before", "removed", "stays", "problems", "warnings", "left_out")
    assert report == {**{part: [] for part in lists}, "unsure": False, "change": None}
    assert columns["Work light"] == "work_light"
    again = given(_send(lead, out.content))
    assert again == {**report, "columns": columns}
    assert lead.get("/api/rig/export.csv").content == out.content


def test_the_report_says_what_would_change_and_changes_nothing(server: Server) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    lines = lead.get("/api/rig/export.csv").text.splitlines()
    report = given(_send(lead, "\n".join(lines[:-1]).encode(), check=True))
    assert (report["added"], report["changed"], len(report["removed"])) == ([], [], 1)
    assert given(lead.get("/api/fixtures")) == before


def test_a_rig_goes_in_whole_and_phones_hear_of_it(server: Server) -> None:
    lead, phone = server.client(), server.phone("crew")
    whole = lead.get("/api/rig/export.csv").content
    lines = whole.decode("utf-8-sig").splitlines()
    given(_send(lead, "\n".join(lines[:11]).encode()))
    phone.until(lambda: len(phone.rig["fixtures"]) == 10)
    given(_send(lead, whole))
    phone.until(lambda: len(phone.rig["fixtures"]) == len(lines) - 1)


def test_of_a_file_with_one_wrong_line_nothing_goes_in(server: Server) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    lines = lead.get("/api/rig/export.csv").text.splitlines()
    wrong = "\n".join([*lines[:5], lines[5].replace(",", ",nonsense ", 9)]).encode()
    answer = _send(lead, wrong)
    assert "Nothing was changed" in problem(answer, 422)
    assert answer.json()["problems"]
    assert given(_send(lead, wrong, check=True))["problems"]
    assert given(lead.get("/api/fixtures")) == before


def test_a_known_unit_whose_line_cannot_be_read_stays_as_it_is_and_is_told(server: Server) -> None:
    lead = server.client()
    before = {f["id"]: f for f in given(lead.get("/api/fixtures"))}
    lines = lead.get("/api/rig/export.csv").text.splitlines()
    broken = "\n".join(
        [*lines[:-2], lines[-2].replace(",1-slot,", ",no-such,"), "Loft,9,901,,dimmer,1-slot,5,1"]
    )
    assert broken.count("no-such") == 1
    report = given(_send(lead, broken.encode(), check=True, leave_out="true"))
    assert [p["where"] for p in report["problems"]] == [f"line {len(lines) - 1}"]
    ((stays,), (removed,)) = report["stays"], report["removed"]
    assert (len(report["added"]), report["unsure"]) == (1, False)
    done = given(_send(lead, broken.encode(), leave_out="true"))
    after = {f["id"]: f for f in given(lead.get("/api/fixtures"))}
    assert after[stays["id"]] == before[stays["id"]]
    assert before.keys() - after.keys() == {removed["id"]}
    phone = server.phone("lead")
    assert phone.ask("undo", change=done["change"])["is"] == "ok"
    assert {f["id"]: f for f in given(lead.get("/api/fixtures"))} == before
    # A line that does not say which unit it is may be about any of them.
    nameless = "\n".join([*lines[:-2], "Loft,,x1,,dimmer,1-slot,5,1"])
    report = given(_send(lead, nameless.encode(), check=True, leave_out="true"))
    assert (report["removed"], report["unsure"]) == ([], True)


def test_a_file_that_is_no_rig_is_refused(server: Server) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    for data in (b"\0" * 1000, b"\xff\xfe\xfa", b"Dear all,\nthe get-in is at nine.\n", b"PK\x03\x04"):
        problem(_send(lead, data), 422)
    assert given(lead.get("/api/fixtures")) == before


def test_crew_bring_no_rig_in(server: Server) -> None:
    problem(_send(server.client("crew"), b"Channel\n1\n", check=True), 403)


def test_a_drawing_goes_in_with_its_types_and_places_all_or_nothing(server: Server) -> None:
    lead = server.client()
    whole = lead.get("/api/rig/export.csv").content
    spot = unit("Spot 1", "8.1", "8.101", FixtureID="501", Matrix="{1,0,0}{0,1,0}{0,0,1}{1500,0,6000}")
    clash = unit("Spot 2", "8.2", "8.201", FixtureID="502")
    before = given(lead.get("/api/fixtures"))
    wrong = _send(lead, mvr(layer("Rig", spot, clash)))
    assert "Fixture Spot 2 (502): " in problem(wrong, 422)
    assert given(lead.get("/api/fixtures")) == before
    assert given(lead.get("/api/profiles", params={"q": "heron spot"})) == []
    laser = unit("Beam", "9.1", GDTFSpec="Nobody@Laser.gdtf")
    assert "never drives" in problem(_send(lead, mvr(layer("Rig", spot, laser))), 422)
    report = given(_send(lead, mvr(layer("Rig", spot)), check=True))
    assert (len(report["added"]), len(report["removed"])) == (1, len(before))
    assert given(lead.get("/api/fixtures")) == before
    some = {"file": ("rig.mvr", mvr(layer("Rig", spot, clash, laser)))}
    done = given(lead.post("/api/rig/import", params={"leave_out": "true"}, files=some))
    assert {p["where"] for p in done["problems"]} == {"Fixture Spot 2 (502)", "Fixture Beam"}
    (added,) = done["added"]
    (fixture,) = given(lead.get("/api/fixtures"))
    assert fixture == added
    assert (fixture["channel"], fixture["universe"], fixture["address"]) == (501, 8, 1)
    assert fixture["starts"] == [{"number": 2, "universe": 8, "address": 101}]
    assert (fixture["placed"]["x_m"], fixture["placed"]["z_m"], fixture["placed"]["layer"]) == (1.5, 6, "Rig")
    with zipfile.ZipFile(io.BytesIO(lead.get("/api/rig/export.mvr").content)) as archive:
        assert archive.namelist()[0] == "GeneralSceneDescription.xml"
        assert len(archive.namelist()) == 2
    # The same unit, moved and under another channel, is known by the drawing's own name for it.
    given(lead.patch(f"/api/fixtures/{fixture['id']}", json={"notes": "stiff", "purpose": "Door"}))
    (changed,) = given(_send(lead, mvr(layer("Rig", spot.replace("501", "77").replace("8.1<", "9.1<")))))[
        "changed"
    ]
    assert (changed["id"], changed["channel"], changed["universe"]) == (fixture["id"], 77, 9)
    assert (changed["notes"], changed["purpose"]) == ("stiff", "Door")
    given(_send(lead, whole))


def test_an_import_is_one_change_and_undone_whole_while_its_types_stay_in_the_library(server: Server) -> None:
    lead, phone = server.client(), server.phone("lead")
    before = {f["id"]: f for f in given(lead.get("/api/fixtures"))}
    profiles = set(phone.rig["profiles"])
    spot = unit("Spot 1", "8.1", "8.101", FixtureID="501")
    done = given(_send(lead, mvr(layer("Rig", spot))))
    assert [len(done[part]) for part in ("added", "removed")] == [1, len(before)]
    newest = given(lead.get("/api/changes", params={"limit": 1}))[0]
    assert (newest["change"], newest["can"], newest["final"]) == (done["change"], True, False)
    assert phone.ask("undo", change=done["change"])["is"] == "ok"
    assert {f["id"]: f for f in given(lead.get("/api/fixtures"))} == before
    assert set(server.phone("lead").rig["profiles"]) == profiles
    assert given(lead.get("/api/profiles", params={"q": "heron spot"}))


def test_a_partial_sheet_adds_and_changes_and_takes_nothing_out(server: Server) -> None:
    lead = server.client()
    before = {f["id"]: f for f in given(lead.get("/api/fixtures"))}
    sheet = "Position;Unit;Typ;Modus;Farbe\nBridge;1;Dimmer;1-slot;L201\nTruss;1;Dimmer;1-slot;\n".encode(
        "cp1252"
    )
    report = given(_send(lead, sheet, check=True, keep="true"))
    assert (len(report["added"]), len(report["changed"]), report["removed"]) == (1, 1, [])
    assert report["columns"]["Farbe"] == ""
    assert (report["before"][0]["more"], report["changed"][0]["more"]) == ({}, {"Farbe": "L201"})
    given(_send(lead, sheet, keep="true"))
    after = {f["id"]: f for f in given(lead.get("/api/fixtures"))}
    assert len(after) == len(before) + 1
    one = report["changed"][0]["id"]
    assert after[one] == {**before[one], "more": {"Farbe": "L201"}}
    out = lead.get("/api/rig/export.csv").text.splitlines()
    assert out[0].endswith(",Farbe")
    (new,) = after.keys() - before.keys()
    assert lead.delete(f"/api/fixtures/{new}").status_code == 204
    given(lead.patch(f"/api/fixtures/{one}", json={"more": {}}))


def test_the_rig_goes_out_as_json_and_comes_in_as_nothing_new(server: Server) -> None:
    lead = server.client()
    given(lead.patch("/api/fixtures/" + given(lead.get("/api/fixtures"))[3]["id"], json={"cap": 0.5}))
    out = lead.get("/api/rig/export.json")
    assert out.headers["content-type"] == "application/json"
    report = given(_send(lead, out.content))
    assert not any(report[part] for part in ("added", "changed", "removed", "problems", "warnings"))
    assert lead.get("/api/rig/export.json").content == out.content
    assert "version" in problem(_send(lead, out.content.replace(b'"version": 1', b'"version": 9')), 422)


def test_a_column_is_what_a_person_says_it_is(server: Server) -> None:
    lead = server.client()
    sheet = b"Lamp,Spot,Nr\nrelay,Grid,1\n"
    assert given(_send(lead, sheet, check=True))["problems"]
    report = given(_send(lead, sheet, check=True, keep="true", column=["profile:Lamp", "position:Spot"]))
    assert report["problems"] == []
    assert (report["added"][0]["profile"], report["added"][0]["position"]) == ("relay", "Grid")
    assert _send(lead, sheet, check=True, column=["made_up:Lamp"]).status_code == 422


def test_what_may_be_meant_is_told_and_does_not_stop_a_file(server: Server) -> None:
    lead = server.client()
    line = "dimmer,1-slot,{},Grid,{},4/{}"
    sheet = "\n".join(
        ["Type,Mode,Channel,Position,Unit,Address", line.format(900, 1, 1), line.format(900, 2, 2)]
    )
    report = given(_send(lead, sheet.encode(), check=True, keep="true"))
    assert (report["problems"], [w["where"] for w in report["warnings"]]) == ([], ["line 3"])
    assert report["warnings"][0]["said"][0].startswith("Channel {channel}")
    twice = sheet.replace("Grid,2", "Grid,1").encode()
    assert "such as 1A" in given(_send(lead, twice, check=True, keep="true"))["problems"][0]["why"]
    assert given(_send(lead, twice, check=True, keep="true", even_so="true"))["problems"] == []
