"""The slots as they leave, who set them, and the server's health."""

from typing import Any

import pytest

from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []


def test_the_slots_are_those_that_were_sent(server: Server) -> None:
    phone, client = server.phone("crew"), server.client("house")
    assert phone.ask("slot", universe=1, slot=400, raw=77)["is"] == "ok"
    server.sacn.until_slot(1, 400, 77)

    def as_sent() -> bool:
        told.update(given(client.get("/api/universes/1")))
        return bytes(told["slots"]) == server.sacn.pictures(1)[-1]

    told: dict[str, Any] = {}
    server.sacn.until(as_sent, "the same")  # what was let go of before still fades
    assert told["universe"] == 1
    assert len(told["slots"]) == len(told["set_by"]) == 512
    assert told["slots"][399] == 77
    assert phone.ask("slot", universe=1, slot=400, raw=None)["is"] == "ok"


def test_each_slot_says_who_or_what_set_it(server: Server) -> None:
    phone = server.phone("crew", "Mo")
    assert phone.ask("set", fixture="demo-2", values={"Dimmer": 0.5})["is"] == "ok"
    assert phone.ask("slot", universe=1, slot=500, raw=1)["is"] == "ok"
    set_by = given(server.client().get("/api/universes/1"))["set_by"]
    rig = phone.rig["fixtures"]
    assert set_by[rig["demo-1"]["address"] - 1] == "look"
    assert set_by[rig["demo-2"]["address"] - 1] == "Mo"
    assert (set_by[499], set_by[510]) == ("Mo", "")
    hazer = rig["demo-75"]
    assert given(server.client().get("/api/universes/3"))["set_by"][hazer["address"] - 1] == "guard"
    assert phone.ask("slot", universe=1, slot=500, raw=None)["is"] == "ok"
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_the_owners_are_told_with_their_slots(server: Server) -> None:
    owners = given(server.client().get("/api/universes/2"))["owners"]
    spot = next(owner for owner in owners if owner["fixture"] == "demo-21")
    assert (spot["channel"], spot["last"] - spot["first"] + 1) == (21, 26)


def test_a_universe_nobody_uses_is_not_found(server: Server) -> None:
    for number in (0, -1, 9, 63999, 10**30):
        assert "Nothing is patched" in problem(server.client().get(f"/api/universes/{number}"), 404)


@pytest.mark.parametrize("number", ["one", "1.5", "%20", "nan"])
def test_what_is_no_universe_is_refused(server: Server, number: str) -> None:
    assert problem(server.client().get(f"/api/universes/{number}"), 422).startswith("universe: ")


def test_health_counts_phones_and_slots_and_tells_the_pace(server: Server) -> None:
    client = server.client(None)
    server.sacn.until(lambda: given(client.get("/api/health"))["phones"] == 0, "nobody of the test before")
    before = given(client.get("/api/health"))
    about = {"status", "version", "uptime_s", "phones", "universes"}
    assert before.keys() == about | {"interface", "interface_is_there", "pages", "name"}
    assert (before["interface"], before["interface_is_there"]) == ("127.0.0.1 (lo)", True)
    assert (before["pages"], before["name"]) == ([], None), "served on loopback, it is told to nobody"
    phone = server.phone()
    server.sacn.until(lambda: given(client.get("/api/health"))["phones"] == before["phones"] + 1, "a phone")
    phone.close()
    server.sacn.until(lambda: given(client.get("/api/health"))["phones"] == before["phones"], "no phone")
    # An unchanging universe goes out each 0.8 to 1.0 s (E1.31-2018, 6.6.2).
    server.sacn.until(
        lambda: all(0.5 < u["frames_per_s"] < 2.5 for u in given(client.get("/api/health"))["universes"]),
        "the pace",
    )
    in_use = {u["universe"]: u["slots_in_use"] for u in given(client.get("/api/health"))["universes"]}
    assert {1, 2, 3} <= in_use.keys()  # a slot set by hand elsewhere opens one more
    assert in_use == {n: sum(1 for level in server.sacn.pictures(n)[-1] if level) for n in in_use}
