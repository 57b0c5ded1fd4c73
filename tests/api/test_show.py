"""The whole show over HTTP: out as one file, in again with a report, and no light that jumps."""

import hashlib
import time
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import httpx
import pytest

from server.api import show as api
from server.journal.travel import unpack
from server.paperwork.gdtf import read_gdtf
from server.paperwork.library import read_folder
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.places import profiles_folder
from tests.api.answers import given, problem
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode
from tests.servers import Server, serving

__all__: list[str] = []


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """One of its own: its show is replaced."""
    with serving(tmp_path / "data") as server:
        yield server


def _export(lead: httpx.Client) -> bytes:
    answer = lead.get("/api/show/export")
    assert answer.status_code == 200, answer.text
    return answer.content


def _import(client: httpx.Client, data: bytes, **query: str) -> httpx.Response:
    return client.post("/api/show/import", files={"file": ("show.focuscall", data)}, params=query)


def _of_show(rig: dict[str, Any]) -> dict[str, Any]:
    """What of a hello travels."""
    fields = ("channel", "position", "purpose", "profile", "mode", "universe", "address", "fault", "notes")
    fixtures = {f: {key: one[key] for key in fields} for f, one in rig["fixtures"].items()}
    parts = ("show", "looks", "baseline", "order", "settings", "profiles")
    return deepcopy({"fixtures": fixtures, **{part: rig[part] for part in parts}})


def test_a_show_that_was_kept_comes_back_whole_and_everything_in_hand_is_let_go(server: Server) -> None:
    lead, crew = server.client("lead", "Ada"), server.phone("crew", "Mo")
    given(lead.post("/api/looks", json={"name": "Only bridge", "fixtures": ["demo-1"]}), 201)
    assert crew.ask("fault", fixture="demo-7", words="lamp out")["is"] == "ok"
    crew.catch_up()
    before = _of_show(crew.rig)
    data = _export(lead)
    for unit in ("demo-1", "demo-2"):
        given(lead.delete(f"/api/fixtures/{unit}"), 204)
    given(lead.patch("/api/fixtures/demo-3", json={"purpose": "Something else"}))
    for look in lead.get("/api/looks").json():
        if not look["baseline"]:
            given(lead.delete(f"/api/looks/{look['id']}"), 204)
    assert crew.ask("set", fixture="demo-4", values={"Dimmer": {"raw": 255}})["is"] == "ok"
    slot = crew.rig["fixtures"]["demo-4"]["address"]
    assert crew.ask("slot", universe=1, slot=500, raw=255)["is"] == "ok"  # where the show has nothing
    server.sacn.until_slot(1, slot, 255)
    server.sacn.until_slot(1, 500, 255)

    report = given(_import(lead, data, check="true"))
    assert report["problems"] == []
    assert report["holds"]["fixtures"] == len(before["fixtures"])
    assert report["replaces"]["fixtures"] == len(before["fixtures"]) - 2
    assert report["holds"]["looks"] == len(before["looks"])
    assert (report["holds"]["faults"], report["holds"]["people"], report["left_out"]) == (1, 2, 0)
    crew.catch_up()
    assert crew.rig["fixtures"]["demo-4"]["holder"] is not None

    began = time.monotonic()
    copies = set((server.data / "demo" / "backups").glob("*.sqlite"))
    assert given(_import(lead, data)) == report
    crew.until(lambda: "demo-1" in crew.rig["fixtures"], "the other show")
    assert _of_show(crew.rig) == before
    assert {unit["holder"] for unit in crew.rig["fixtures"].values()} == {None}
    assert {person["name"] for person in crew.rig["people"].values()} == {"Ada", "Mo"}
    (copy,) = set((server.data / "demo" / "backups").glob("*.sqlite")) - copies
    assert "demo-1" not in unpack(copy.read_bytes()).fixtures
    base = round(crew.rig["fixtures"]["demo-4"]["values"]["Dimmer"] * 255)
    server.sacn.until_slot(1, slot, base)
    server.sacn.until_slot(1, 500, 0)
    _assert_it_moved_slowly(server, began, slot, 500)

    after = _of_show(crew.rig)
    server.hang_up()
    server.kill()
    server.start()
    assert _of_show(server.phone_with(crew.token).rig) == after


def _assert_it_moved_slowly(server: Server, began: float, *slots: int) -> None:
    """On the way down each passes through what lies between, and no slot of the rig flares up."""
    heard = server.sacn.sacn(1)
    pictures = [heard[sum(at < began for at, _ in heard) - 1], *server.sacn.sacn(1, began)]
    for slot in slots:
        levels = [packet[125 + slot] for _, packet in pictures]
        assert levels[0] == 255
        assert levels == sorted(levels, reverse=True)
        assert len(set(levels)) > 8  # 88 frames where the machine has nothing else to do
    first, last = pictures[0][1][126:], pictures[-1][1][126:]
    for _, packet in pictures:
        for was, now, will in zip(first, packet[126:], last, strict=True):
            assert min(was, will) <= now <= max(was, will)


def test_nobody_s_way_in_is_in_the_file(server: Server) -> None:
    lead = server.client("lead", "Ada")
    token = lead.headers["Authorization"].removeprefix("Bearer ")
    answer = lead.get("/api/show/export")
    name = answer.headers["content-disposition"].partition('filename="')[2].rstrip('"')
    assert name.endswith(".focuscall")
    assert name.isascii()
    assert token.encode() not in answer.content
    assert hashlib.sha256(token.encode()).hexdigest().encode() not in answer.content
    assert [person.name for person in unpack(answer.content).people.values()] == ["Ada"]


def test_only_the_lead_keeps_and_brings_shows(server: Server) -> None:
    data = _export(server.client("lead"))
    for role in ("crew", "house"):
        client = server.client(role)
        assert "Only the lead" in problem(client.get("/api/show/export"), 403)
        assert "Only the lead" in problem(_import(client, data), 403)
    assert "have not joined" in problem(server.client(None).get("/api/show/export"), 401)


def test_what_is_wrong_is_said_in_one_sentence_and_nothing_changes(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    lead, phone = server.client("lead"), server.phone("crew")
    data = _export(lead)
    rev = phone.ask("signal", rtt_ms=None)["rev"]
    assert "not a show file" in problem(_import(lead, b"Dear all, the get-in is at nine."), 422)
    assert "damaged or not whole" in problem(_import(lead, data[: len(data) // 2]), 422)
    assert "form field called file" in problem(
        lead.post("/api/show/import", data={"x": "y"}, files={"z": b""}), 422
    )
    assert "up to 64 MiB" in problem(_import(lead, b"x" * (api.LONGEST_FILE + 1)), 413)
    assert phone.ask("signal", rtt_ms=None)["rev"] == rev
    assert phone.ask("hands_on", fixture="demo-21", on=True)["is"] == "ok"
    assert "another show comes in once they are off" in problem(_import(lead, data), 422)
    (told,) = given(_import(lead, data, check="true"))["problems"]
    assert "Hands are on" in told["why"]


def test_without_room_for_a_copy_of_the_present_show_nothing_changes(server: Server) -> None:
    lead = server.client("lead")
    data = _export(lead)
    backups = server.data / "demo" / "backups"
    for each in backups.glob("*"):
        each.unlink()
    if backups.exists():
        backups.rmdir()
    backups.write_bytes(b"")  # nothing can be put into this
    before = lead.get("/api/fixtures").json()
    assert "could not be copied first" in problem(_import(lead, data), 422)
    assert lead.get("/api/fixtures").json() == before


def test_every_profile_a_show_can_carry_is_taken_again() -> None:
    for profile in read_folder(profiles_folder()):
        assert profile_from_json(profile_to_json(profile)) == profile
    data = gdtf(fixture(mode(channel("Dimmer", "1,2"), channel("Pan", "3,4"), channel("Zoom", 5))))
    read, _ = read_gdtf(data)
    assert read is not None
    assert profile_from_json(profile_to_json(read)) == read
