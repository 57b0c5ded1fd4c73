"""What was changed, told with what undoing would do, and undone over the live channel."""

from typing import Any

import httpx

from tests.api.answers import given
from tests.phones import Phone
from tests.servers import Server

__all__: list[str] = []


def both(server: Server, role: str = "crew") -> tuple[httpx.Client, Phone]:
    """One person's requests and live channel."""
    client = server.client(role)
    return client, server.phone_with(client.headers["Authorization"].removeprefix("Bearer "))


def newest(client: httpx.Client, **asked: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = given(client.get("/api/changes", params=asked))
    return found


def done(phone: Phone, do: str, **fields: Any) -> None:
    answer = phone.ask(do, **fields)
    assert answer["is"] == "ok", answer


def test_what_undoing_would_do_is_said_first_and_then_done(server: Server) -> None:
    client, phone = both(server)
    done(phone, "set", fixture="demo-5", values={"Dimmer": 0.5})
    (change, *_) = newest(client, fixture="demo-5")
    assert (change["fixtures"], change["can"], change["undone"]) == (["demo-5"], True, None)
    assert change["what"].startswith("Set Dimmer 50 %")
    assert change["said"][0] == "Set {values}."
    assert "in nobody's hand" in change["will"]["text"]
    done(phone, "undo", change=change["change"])
    phone.until(lambda: phone.rig["fixtures"]["demo-5"]["holder"] is None)
    again = newest(client, fixture="demo-5")[0]
    assert again["undone"] == change["by"]["name"]
    assert "Dimmer 50 %, in your hand again" in again["will"]["text"]
    done(phone, "undo", change=change["change"])
    phone.until(lambda: phone.rig["fixtures"]["demo-5"]["values"]["Dimmer"] == 0.502)
    done(phone, "let_go", fixture="*")


def test_a_refusal_says_what_is_in_the_way_and_what_would_make_it_possible(server: Server) -> None:
    (client, phone), (leads, lead) = both(server), both(server, "lead")
    done(phone, "set", fixture="demo-6", values={"Dimmer": 0.5})
    (mine,) = newest(client, fixture="demo-6", limit=1)
    (theirs,) = newest(leads, fixture="demo-6", limit=1)
    assert (theirs["can"], theirs["ask"]) == (False, "take")
    assert theirs["will"]["text"].endswith("in nobody's hand.")
    refused = lead.ask("undo", change=mine["change"])
    assert (refused["is"], refused["ask"]) == ("refused", "take")
    done(phone, "let_go", fixture="demo-6")
    blocked = newest(client, fixture="demo-6")[1]
    assert blocked["change"] == mine["change"]
    assert "Undo that first." in blocked["why"]["text"]
    assert blocked["why"]["said"][0] == "{name} changed {subject} after that. Undo that first."
    assert phone.ask("undo", change=mine["change"])["why"] == blocked["why"]["text"]


def test_only_ones_own_and_house_staff_of_the_house(server: Server) -> None:
    (client, crew), (houses, house) = both(server), both(server, "house")
    done(crew, "set", fixture="demo-22", values={"Dimmer": 0.5})
    done(house, "set", fixture="demo-1", values={"Dimmer": 0.5})
    assert {c["by"]["id"] for c in newest(client, mine=True)} == {crew.rig["you"]["id"]}
    about = [f for c in newest(houses, limit=50) for f in c["fixtures"]]
    assert "demo-1" in about
    assert "demo-22" not in about
    done(crew, "let_go", fixture="*")
    done(house, "let_go", fixture="*")


def test_a_recalled_look_undone_goes_back_on_every_phone(server: Server) -> None:
    client, phone = both(server, "lead")
    given(client.patch("/api/settings", json={"let_go_s": 0}))
    values = {f: dict(each["values"]) for f, each in phone.rig["fixtures"].items()}
    given(client.post("/api/looks/warm-wash/recall", json={"fade_s": 0}))
    (recall, settings) = newest(client, limit=2)
    assert settings["what"] == "Changed the settings: let_go_s 0."
    assert recall["will"]["text"].startswith("what the look brought up goes back")
    phone.until(lambda: {f: each["values"] for f, each in phone.rig["fixtures"].items()} != values)
    done(phone, "undo", change=recall["change"])
    phone.until(lambda: {f: each["values"] for f, each in phone.rig["fixtures"].items()} == values)
    done(phone, "undo", change=settings["change"])
    phone.until(lambda: phone.rig["settings"]["let_go_s"] == 2.0)


def test_a_fixture_taken_out_comes_back_as_it_was(server: Server) -> None:
    client, phone = both(server, "lead")
    before = next(f for f in given(client.get("/api/fixtures")) if f["id"] == "demo-31")
    assert client.delete("/api/fixtures/demo-31").status_code == 204
    phone.until(lambda: "demo-31" not in [f for f, each in phone.rig["fixtures"].items() if each])
    (removed,) = newest(client, fixture="demo-31", limit=1)
    assert "31 comes back into the rig" in removed["will"]["text"]
    done(phone, "undo", change=removed["change"])
    phone.until(lambda: phone.rig["fixtures"].get("demo-31"))
    assert next(f for f in given(client.get("/api/fixtures")) if f["id"] == "demo-31") == before
