"""The record of the day over HTTP."""

import csv
import io
import time

from tests.api.answers import given, problem
from tests.phones import Phone
from tests.servers import Server

__all__: list[str] = []


def until_recorded(phone: Phone) -> None:
    """What was answered is kept, and what is kept can be read."""
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_it_says_who_did_what_when_with_which_unit_and_from_which_phone(server: Server) -> None:
    began = time.time() - 1
    client = server.client(None)
    agent = {"User-Agent": "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Mobile/15E148"}
    joined = given(client.post("/api/join", json={"name": "Recorder", "pin": "2222"}, headers=agent))
    phone = server.phone_with(joined["token"])
    assert phone.ask("set", fixture="demo-21", values={"Dimmer": 0.5})["is"] == "ok"
    assert phone.ask("master", value=1.0)["is"] == "ok"
    until_recorded(phone)
    asked = {"person": joined["person"]["id"], "since": began}
    rows = given(server.client("crew").get("/api/record", params=asked))
    assert rows[0]["what"] == "Let go of it."
    assert rows[1]["what"].startswith("Set Dimmer 50 %")
    assert rows[-1]["what"] == "Joined."
    assert {(row["name"], row["role"], row["phone"]) for row in rows} == {("Recorder", "crew", "iPhone")}
    assert (rows[1]["fixture"], rows[1]["channel"]) == ("demo-21", 21)
    assert rows[1]["said"][0] == "Set {values}."
    assert began < rows[-1]["at"] <= rows[0]["at"] < time.time() + 1


def test_it_is_searched_and_comes_as_a_table(server: Server) -> None:
    lead, phone = server.client("lead"), server.phone("crew", "=Formula")
    assert phone.ask("fault", fixture="demo-22", words='buzzes, says "öl"')["is"] == "ok"
    until_recorded(phone)
    (row,) = given(lead.get("/api/record", params={"q": "buzzes öl", "fixture": "demo-22"}))
    assert row["what"] == 'Noted: "buzzes, says "öl"".'
    answer = lead.get("/api/record.csv", params={"q": "buzzes", "fixture": "demo-22"})
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert answer.content.startswith(b"\xef\xbb\xbf")
    head, line = csv.reader(io.StringIO(answer.content.decode("utf-8-sig"), newline=""))
    assert head == ["Time", "Name", "Role", "Phone", "Channel", "Position", "Unit", "What"]
    assert line[1:5] == ["'=Formula", "crew", "", "22"]
    assert line[7] == 'Noted: "buzzes, says "öl"".'
    assert phone.ask("fault", fixture="demo-22", words=None)["is"] == "ok"


def test_house_staff_read_of_house_fixtures_only(server: Server) -> None:
    crew, house = server.phone("crew"), server.phone("house")
    assert crew.ask("set", fixture="demo-23", values={"Dimmer": 0.5})["is"] == "ok"
    assert house.ask("set", fixture="demo-1", values={"Dimmer": 0.5})["is"] == "ok"
    until_recorded(crew)
    until_recorded(house)
    client = server.client("house")
    rows = given(client.get("/api/record", params={"limit": 1000}))
    assert {"demo-1"} <= {row["fixture"] for row in rows}
    assert all(row["house"] for row in rows)
    assert "demo-23" not in client.get("/api/record.csv").text
    assert given(client.get("/api/record", params={"fixture": "demo-23"})) == []


def test_nobody_reads_it_who_has_not_joined_and_no_more_than_fits(server: Server) -> None:
    problem(server.client(None).get("/api/record"), 401)
    problem(server.client(None).get("/api/record.csv"), 401)
    problem(server.client("lead").get("/api/record", params={"limit": 1001}), 422)
