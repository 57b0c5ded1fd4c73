"""Files by the thousand onto the shelf of the laptop, and stars, over HTTP."""

import asyncio
import json
import tempfile
from collections.abc import AsyncGenerator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from server.api.library import Told
from server.places import profiles_folder
from tests.api.answers import given, problem
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode
from tests.paperwork.test_reader import packed
from tests.servers import Server

__all__: list[str] = []


def _named(name: str, *more: str) -> bytes:
    return gdtf(fixture(mode(channel("Dimmer", 1), *more), Name=name, LongName=name, Manufacturer="Shore"))


def _taken(server: Server, *files: tuple[str, bytes]) -> list[dict[str, Any]]:
    answer = server.client().post("/api/library", files=[("file", each) for each in files])
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/x-ndjson")
    return [json.loads(line) for line in answer.text.splitlines()]


def test_each_file_is_told_by_itself_and_none_goes_into_the_show(server: Server) -> None:
    lead = server.client()
    bundle = packed(("in/b.gdtf", _named("Tern")), ("notes.txt", b"x"), ("c.gdtf", b"PK no archive"))
    one = _named("Gull", channel("Gull9Wing", 2, geometry="nowhere"))
    told = _taken(server, ("a.gdtf", one), ("many.zip", bundle), ("d.gdtf", _named("Pyro shooter")))
    assert [(t.get("name"), t.get("key")) for t in told if "name" in t] == [
        ("a.gdtf", "shore-gull"),
        ("b.gdtf", "shore-tern"),
        ("notes.txt", None),
        ("c.gdtf", None),
        ("d.gdtf", None),
    ]
    assert told[1] == {"archive": "many.zip", "holds": 3}
    assert "never drives" in told[5]["problems"][0]["why"]
    found = given(lead.get("/api/profiles", params={"q": "shore 1 slot"}))
    assert {p["key"] for p in found} >= {"shore-tern"}
    export = lead.get("/api/rig/export.json").text
    assert "shore-tern" not in export
    problem(server.client("crew").post("/api/library", files=[("file", ("a.gdtf", one))]), 403)
    assert "no file" in problem(lead.post("/api/library", content=b""), 422)


def test_a_file_under_the_key_of_another_profile_is_not_hidden_by_it(server: Server) -> None:
    shipped = (profiles_folder() / "dimmer.json").read_bytes()
    other = json.dumps({**json.loads(shipped), "name": "Dimmer of the house"}).encode()
    same, changed = (t["key"] for t in _taken(server, ("a.json", shipped), ("b.json", other)))
    assert same == "dimmer"
    assert changed.startswith("dimmer-")
    found = given(server.client().get("/api/profiles", params={"q": "dimmer of the house"}))
    assert [p["key"] for p in found] == [changed]


def test_starred_profiles_come_first_and_the_lead_sets_them(server: Server) -> None:
    lead = server.client()
    _taken(server, ("z.gdtf", _named("Zander")))
    last = given(lead.get("/api/profiles", params={"q": "", "most": 1}))
    assert not last[0]["starred"]
    assert given(lead.put("/api/profiles/shore-zander/star", json={"on": True})) == {"starred": True}
    first = given(lead.get("/api/profiles", params={"most": 1}))[0]
    assert (first["key"], first["starred"], first["fixtures"]) == ("shore-zander", True, 0)
    problem(server.client("crew").put("/api/profiles/dimmer/star", json={"on": True}), 403)
    problem(lead.put("/api/profiles/nobody/star", json={"on": True}), 404)
    problem(lead.put("/api/profiles/dimmer/star", json={"on": 1}), 422)
    assert given(lead.put("/api/profiles/shore-zander/star", json={"on": False})) == {"starred": False}
    used = next(p for p in given(lead.get("/api/profiles")) if p["fixtures"])
    kind = used["key"]
    assert used["fixtures"] == sum(f["profile"] == kind for f in given(lead.get("/api/fixtures")))


@pytest.mark.parametrize("lines", [1, 3])
def test_who_goes_away_ends_the_reading_and_leaves_no_files(lines: int) -> None:
    ended: list[bool] = []

    async def reading() -> AsyncGenerator[dict[str, Any], None]:
        try:
            while True:
                yield {"name": "a"}
                await asyncio.sleep(0)
        finally:
            ended.append(True)

    async def asked() -> None:
        gone, left = asyncio.Event(), lines

        async def send(message: Any) -> None:
            nonlocal left
            left -= bool(message.get("body"))
            if left == 0:
                gone.set()

        async def receive() -> dict[str, str]:
            await gone.wait()
            return {"type": "http.disconnect"}

        scope = {"type": "http", "asgi": {"spec_version": "2.3"}}
        with suppress(OSError):
            await asyncio.wait_for(Told(reading(), folder)(scope, receive, send), 10)

    folder = tempfile.TemporaryDirectory()
    asyncio.run(asked())
    assert ended == [True]
    assert not Path(folder.name).exists()
