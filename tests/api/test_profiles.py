"""The profile library over HTTP."""

import io
import json
import time
import zipfile
from typing import Any

import pytest

from server.places import profiles_folder
from tests.api.answers import given, problem
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode
from tests.servers import ENOUGH_S, Server

__all__: list[str] = []


def _file(**changes: Any) -> bytes:
    written = json.loads((profiles_folder() / "dimmer.json").read_bytes())
    return json.dumps({**written, **changes}).encode()


def test_all_words_of_a_search_must_occur(server: Server) -> None:
    client = server.client("house")
    everything = given(client.get("/api/profiles"))
    found = given(client.get("/api/profiles", params={"q": "moving spot"}))
    assert len(everything) >= 40
    assert 0 < len(found) < len(everything)
    assert found[0].keys() >= {"key", "name", "modes"}
    assert {"name": "26-slot 16 bit", "footprint": 26} in found[0]["modes"]
    assert given(client.get("/api/profiles", params={"q": "nobody made this"})) == []


def test_one_profile_is_told_whole_with_its_cells_expanded(server: Server) -> None:
    batten = given(server.client("house").get("/api/profiles/batten-8"))
    controls = next(mode for mode in batten["modes"] if mode["footprint"] == 24)["controls"]
    assert all(
        c.keys() >= {"key", "attribute", "offset", "default", "home", "highlight", "functions"}
        for c in controls
    )
    assert "ColorAdd_R/Cell 1" in {c["key"] for c in controls} or len({c["key"] for c in controls}) == len(
        controls
    )
    slots = sorted(slot for c in controls for slot in c["offset"])
    assert slots == list(range(1, 25))
    assert 'no profile "nobody"' in problem(server.client().get("/api/profiles/nobody"), 404)


def test_a_profile_is_added_as_the_body_or_as_a_file_and_can_be_patched(server: Server) -> None:
    lead = server.client()
    assert (
        given(lead.post("/api/profiles", content=_file(key="mine-1", name="Mine one")), 201)["key"]
        == "mine-1"
    )
    sent = {"file": ("mine.json", _file(key="mine-2", name="Mine two"))}
    assert given(lead.post("/api/profiles", files=sent), 201)["key"] == "mine-2"
    assert [p["key"] for p in given(lead.get("/api/profiles", params={"q": "mine two"}))] == ["mine-2"]
    wanted = {"profile": "mine-2", "mode": "1-slot"}
    fixture = given(lead.post("/api/fixtures", json=wanted), 201)["id"]
    assert lead.delete(f"/api/fixtures/{fixture}").status_code == 204


def test_a_profile_in_use_is_not_replaced_by_another(server: Server) -> None:
    assert "another key" in problem(server.client().post("/api/profiles", content=_file(name="Other")), 422)


def test_crew_add_no_profiles(server: Server) -> None:
    problem(server.client("crew").post("/api/profiles", content=_file(key="mine-3")), 403)


@pytest.mark.parametrize(
    "data",
    [
        b"{",
        b"[]",
        b"\xff\xfe",
        b"PK\x03\x04 no archive",
        _file(modes=[]),
        _file(schema=2),
        _file(key="../up"),
    ],
)
def test_a_file_that_is_no_profile_is_reported_and_changes_nothing(server: Server, data: bytes) -> None:
    lead = server.client()
    before = given(lead.get("/api/profiles"))
    answer = lead.post("/api/profiles", content=data)
    assert "cannot be used" in problem(answer, 422)
    assert answer.json()["problems"]
    assert given(lead.get("/api/profiles")) == before


def test_what_holds_no_file_is_refused(server: Server) -> None:
    lead = server.client()
    assert "no file" in problem(lead.post("/api/profiles", content=b""), 422)
    assert "called file" in problem(lead.post("/api/profiles", files={"other": ("x", b"x")}), 422)
    problem(lead.post("/api/profiles", content=b"x", headers={"Content-Type": "multipart/form-data"}), 400)


def test_a_file_past_the_limit_is_refused_also_when_its_length_is_not_told(server: Server) -> None:
    large = b" " * (129 * 1024 * 1024)
    assert "up to 128 MiB" in problem(server.client().post("/api/profiles", content=large), 413)
    form = {"Content-Type": "multipart/form-data; boundary=x"}
    assert "how long" in problem(
        server.client().post("/api/profiles", content=iter([b"--x"]), headers=form), 411
    )
    parts = (large[at : at + 1_000_000] for at in range(0, len(large), 1_000_000))
    assert "up to 128 MiB" in problem(server.client().post("/api/profiles", content=parts), 413)


def _bundle(*members: tuple[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in members:
            archive.writestr(name, data)
    return out.getvalue()


def _named(name: str) -> bytes:
    return gdtf(fixture(mode(channel("Dimmer", 1)), Name=name, LongName=name, Manufacturer="Shelf Test"))


def test_many_at_once_go_onto_the_shelf_and_are_found_used_and_told_apart(server: Server) -> None:
    lead = server.client()
    sent = [
        ("file", ("a.gdtf", _named("Heron 300"))),
        ("file", ("b.zip", _bundle(("in/c.gdtf", _named("Heron 600")), ("d.gdtf", b"PK no archive")))),
        ("file", ("e.gdtf", gdtf(fixture(mode(channel("Dimmer", 1)), Name="Confetti machine", LongName="")))),
    ]
    done = given(lead.post("/api/profiles", files=sent), 201)
    assert (done["added"], done["failed"]) == (2, 2)
    assert done["keys"] == ["shelf-test-heron-300", "shelf-test-heron-600"]
    assert [p["where"] for p in done["problems"]] == ["d.gdtf", "e.gdtf"]
    assert "never drives" in done["problems"][1]["why"]
    found = given(lead.get("/api/profiles", params={"q": "shelf test heron"}))
    assert [p["name"] for p in found] == ["Heron 300", "Heron 600"]
    wanted = {"profile": "shelf-test-heron-600", "mode": "one"}
    unit = given(lead.post("/api/fixtures", json=wanted), 201)["id"]
    first, *_ = given(lead.get("/api/profiles", params={"q": "heron"}))
    assert first["name"] == "Heron 600"
    assert given(lead.get("/api/profiles/shelf-test-heron-300"))["maker"] == "Shelf Test"
    assert lead.delete(f"/api/fixtures/{unit}").status_code == 204
    problem(server.client("crew").post("/api/profiles", files=sent), 403)


def test_a_file_put_into_the_folder_is_found_without_a_restart(server: Server) -> None:
    (server.data / "profiles" / "new.gdtf").write_bytes(_named("Kestrel"))
    (server.data / "profiles" / "broken.gdtf").write_bytes(b"PK broken")
    client = server.client("house")
    deadline = time.monotonic() + 4 * ENOUGH_S
    while not given(client.get("/api/profiles", params={"q": "kestrel"})):
        assert time.monotonic() < deadline
        time.sleep(0.1)
    while not (told := given(client.get("/api/library")))["problems"] or told["left"]:
        assert time.monotonic() < deadline
        time.sleep(0.1)
    assert told["profiles"] > 40
    assert "broken.gdtf" in {p["where"] for p in told["problems"]}
