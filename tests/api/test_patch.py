"""What is said about the patch over HTTP, and addresses proposed and then taken."""

import time
from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from tests.api.answers import given, problem
from tests.servers import Server, serving

__all__: list[str] = []

DIMMER: dict[str, Any] = {"profile": "dimmer", "mode": "1-slot"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own, where some slots are reserved."""
    data = tmp_path_factory.mktemp("patch") / "data"
    data.mkdir()
    (data / "settings.toml").write_text(
        '[[reserved]]\nuniverse = 1\nfirst = 400\nwhy = "visitors"\n'
        '[[off_limits]]\nuniverse = 7\nwhy = "aisle"\n'
    )
    with serving(data) as server:
        yield server


def check(client: httpx.Client, *put: dict[str, Any], **more: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = given(client.post("/api/patch/check", json={"put": put, **more}))
    return found


def test_the_demo_has_nothing_wrong_and_everybody_may_look(server: Server) -> None:
    assert given(server.client("house").get("/api/patch/problems")) == []


def test_a_proposed_change_is_judged_and_nothing_is_changed(server: Server) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    found = check(
        lead,
        {"id": "demo-2", "universe": 1, "address": 1, "channel": 1},
        {**DIMMER, "universe": 1, "address": 511, "position": "Bridge", "unit": "1"},
        {**DIMMER, "universe": 7, "address": 1},
        {"profile": "dimmers", "mode": "1-slot"},
    )
    assert [(f["fixture"], f["kind"], f["refused"]) for f in found] == [
        ("demo-2", "twin", True),
        ("demo-2", "channel", False),
        (None, "unit", True),
        (None, "reserved", False),
        (None, "off_limits", True),
        (None, "profile", True),
    ]
    assert found[0]["other"] == "demo-1"
    assert found[0]["said"][0].startswith("{unit} listens at {place}")
    assert [f["suggestion"] for f in found[2:]] == [
        {"unit": "1A"},
        {"address": found[3]["suggestion"]["address"]},
        None,
        {"profile": "dimmer"},
    ]
    assert given(lead.get("/api/fixtures")) == before


def test_each_finding_says_which_of_the_proposed_it_is_about(server: Server) -> None:
    lead = server.client()
    found = check(lead, {"id": "demo-11", "purpose": "x"}, {"profile": "dimmers", "mode": "1-slot"})
    assert [(f["put"], f["kind"]) for f in found] == [(1, "profile")]
    # Two units of a number that are there already are judged as they are when the change is made.
    twin = {**DIMMER, "position": "Bridge", "unit": "1"}
    fixture = given(lead.post("/api/fixtures?even_so=true", json=twin), 201)["id"]
    (found_there,) = check(lead, {"id": fixture, "purpose": "x"})
    assert (found_there["kind"], found_there["refused"]) == ("unit", False)
    assert lead.delete(f"/api/fixtures/{fixture}").status_code == 204


def test_several_are_changed_added_and_taken_out_as_one_change_and_undone_as_one(server: Server) -> None:
    lead = server.client()
    phone = server.phone_with(lead.headers["Authorization"].removeprefix("Bearer "))
    before = given(lead.get("/api/fixtures"))
    asked: dict[str, Any] = {
        "fixtures": {"demo-1": {"address": 2}, "demo-2": {"address": 1}, "demo-3": {"purpose": "Door"}},
        "add": [{**DIMMER, "channel": n, "universe": 8, "address": n - 700} for n in (701, 702)],
        "remove": ["demo-61", "demo-62"],
    }
    put = given(lead.patch("/api/fixtures", json=asked))
    assert [f["id"] for f in put[:3]] == ["demo-1", "demo-2", "demo-3"]
    assert [(f["channel"], f["address"]) for f in put[3:]] == [(701, 1), (702, 2)]
    after = given(lead.get("/api/fixtures"))
    (change,) = given(lead.get("/api/changes", params={"mine": True, "limit": 1}))
    assert change["what"] == "Changed the patch: 2 added, 3 changed, 2 removed."
    for wanted in (before, after):
        assert phone.ask("undo", change=change["change"])["is"] == "ok"
        by_id = {f["id"]: f for f in given(lead.get("/api/fixtures"))}
        assert by_id == {f["id"]: f for f in wanted}
    assert phone.ask("undo", change=change["change"])["is"] == "ok"


@pytest.mark.parametrize(
    "wrong",
    [
        {"remove": ["nobody"]},
        {"fixtures": {"demo-1": {"unit": "9"}}, "remove": ["demo-1"]},
        {"add": [{"profile": "none", "mode": "1-slot"}], "remove": ["demo-1"]},
        {"add": [{"channel": 5}]},
    ],
)
def test_a_change_of_several_that_cannot_be_made_leaves_all_as_they_are(
    server: Server, wrong: dict[str, Any]
) -> None:
    lead = server.client()
    before = given(lead.get("/api/fixtures"))
    problem(lead.patch("/api/fixtures", json=wrong), 422)
    assert given(lead.get("/api/fixtures")) == before


def test_a_plan_comes_with_a_picture_of_its_universes(server: Server) -> None:
    lead = server.client()
    plan = given(lead.post("/api/patch/plan", json={"fixtures": ["demo-1", "demo-2"], "from": "1.399"}))
    (picture,) = plan["universes"]
    assert picture["universe"] == plan["placed"][0]["universe"]
    by_what: dict[str, list[dict[str, Any]]] = {}
    for each in picture["ranges"]:
        by_what.setdefault(each["what"], []).append(each)
    planned = [(r["fixture"], r["first"], r["last"]) for r in by_what["planned"]]
    assert planned == [(p["fixture"], p["address"], p["address"]) for p in plan["placed"]]
    slots = [slot for r in picture["ranges"] for slot in range(r["first"], r["last"] + 1)]
    assert len(slots) == len(set(slots))


def test_what_is_taken_out_in_the_same_go_is_not_in_the_way(server: Server) -> None:
    lead = server.client()
    new = {**DIMMER, "universe": 1, "address": 1}
    assert [f["kind"] for f in check(lead, new)] == ["twin"]
    assert check(lead, new, remove=["demo-1"]) == []


def test_addresses_are_proposed_and_taken_in_one_go(server: Server) -> None:
    lead = server.client()
    ids = [
        given(lead.post("/api/fixtures", json={**DIMMER, "position": "Truss", "unit": n}), 201)["id"]
        for n in ("2", "10", "1")
    ]
    plan = given(lead.post("/api/patch/plan", json={"from": "1.395"}))
    assert plan["left"] == []
    assert [placed["fixture"] for placed in plan["placed"]] == [ids[2], ids[0], ids[1]]
    assert [(p["universe"], p["address"]) for p in plan["placed"]] == [(1, 395), (1, 396), (1, 397)]
    assert given(lead.get("/api/fixtures"))[-1]["address"] is None
    change = {p["fixture"]: {"universe": p["universe"], "address": p["address"]} for p in plan["placed"]}
    assert given(lead.patch("/api/fixtures", json={"fixtures": change}))[0]["address"] == 395
    assert given(lead.get("/api/patch/problems")) == []
    again = given(lead.post("/api/patch/plan", json={"fixtures": ids, "from": "1.396", "rules": {"gap": 2}}))
    # What is named is addressed anew, in the order given; the three do not fit below what is reserved.
    assert [(p["fixture"], p["universe"], p["address"]) for p in again["placed"]] == [
        (ids[0], 2, again["placed"][0]["address"]),
        (ids[1], 2, again["placed"][0]["address"] + 3),
        (ids[2], 2, again["placed"][0]["address"] + 6),
    ]
    for fixture in ids:
        assert lead.delete(f"/api/fixtures/{fixture}").status_code == 204


def test_of_several_changes_all_are_done_or_none(server: Server) -> None:
    lead = server.client()
    one, two = given(lead.get("/api/fixtures"))[:2]
    swap = {one["id"]: {"address": two["address"]}, two["id"]: {"address": one["address"]}}
    assert [f["address"] for f in given(lead.patch("/api/fixtures", json={"fixtures": swap}))] == [
        two["address"],
        one["address"],
    ]
    back = {one["id"]: {"address": one["address"]}, two["id"]: {"address": two["address"]}}
    wrong = {**back, "demo-3": {"profile": "none"}}
    assert lead.patch("/api/fixtures", json={"fixtures": wrong}).status_code == 422
    assert given(lead.get("/api/fixtures"))[0]["address"] == two["address"]
    given(lead.patch("/api/fixtures", json={"fixtures": back}))
    problem(lead.patch("/api/fixtures", json={"fixtures": {"nobody": {"unit": "1"}}}), 422)


def test_in_no_packet_of_a_swap_does_a_slot_carry_the_others_level(server: Server) -> None:
    lead, mo = server.client(), server.phone("crew", "Mo")
    for fixture, level in (("demo-1", 1.0), ("demo-2", 0.4)):
        assert mo.ask("set", fixture=fixture, values={"Dimmer": level})["is"] == "ok"
    server.sacn.until_slot(1, 1, 255)
    server.sacn.until_slot(1, 2, 102)
    since = time.monotonic()
    swap = {"demo-1": {"address": 2}, "demo-2": {"address": 1}}
    given(lead.patch("/api/fixtures", json={"fixtures": swap}))
    server.sacn.until_slot(1, 1, 102)
    pairs = {tuple(picture[:2]) for picture in server.sacn.pictures(1, since)}
    assert pairs <= {(255, 102), (102, 255)}
    given(
        lead.patch("/api/fixtures", json={"fixtures": {"demo-1": {"address": 1}, "demo-2": {"address": 2}}})
    )
    assert mo.ask("let_go", fixture="*")["is"] == "ok"


def test_in_no_packet_of_a_change_of_mode_does_the_light_change(server: Server) -> None:
    lead, mo = server.client(), server.phone("crew", "Mo")
    for fixture, level in (("demo-82", 1.0), ("demo-83", 0.4)):
        assert mo.ask("set", fixture=fixture, values={"Dimmer": level})["is"] == "ok"
    (first, behind) = (
        f["address"] for f in given(lead.get("/api/fixtures")) if f["id"] in ("demo-82", "demo-83")
    )
    assert behind == first + 1
    server.sacn.until_slot(3, first, 255)
    server.sacn.until_slot(3, behind, 102)
    # Into two slots of 16 bit, while the neighbour makes room for the second: fine at full is 255 as well.
    since = time.monotonic()
    into = {"demo-82": {"mode": "2-slot 16 bit"}, "demo-83": {"universe": 3, "address": 398}}
    given(lead.patch("/api/fixtures", json={"fixtures": into}))
    server.sacn.until_slot(3, 398, 102)
    there = {(p[first - 1], p[behind - 1], p[397]) for p in server.sacn.pictures(3, since)}
    assert there <= {(255, 102, 0), (255, 255, 102)}
    since = time.monotonic()
    back = {"demo-82": {"mode": "1-slot"}, "demo-83": {"universe": 3, "address": behind}}
    given(lead.patch("/api/fixtures", json={"fixtures": back}))
    server.sacn.until_slot(3, behind, 102)
    there = {(p[first - 1], p[behind - 1], p[397]) for p in server.sacn.pictures(3, since)}
    assert there <= {(255, 255, 102), (255, 102, 0)}
    assert mo.ask("let_go", fixture="*")["is"] == "ok"


def test_undone_a_swap_moves_the_levels_back_in_one_packet(server: Server) -> None:
    lead, mo = server.client(), server.phone("crew", "Mo")
    phone = server.phone_with(lead.headers["Authorization"].removeprefix("Bearer "))
    for fixture, level in (("demo-1", 1.0), ("demo-2", 0.4)):
        assert mo.ask("set", fixture=fixture, values={"Dimmer": level})["is"] == "ok"
    server.sacn.until_slot(1, 2, 102)
    swap = {"demo-1": {"address": 2}, "demo-2": {"address": 1}}
    given(lead.patch("/api/fixtures", json={"fixtures": swap}))
    server.sacn.until_slot(1, 1, 102)
    since = time.monotonic()
    (change,) = given(lead.get("/api/changes", params={"mine": True, "limit": 1}))
    assert phone.ask("undo", change=change["change"])["is"] == "ok"
    server.sacn.until_slot(1, 1, 255)
    assert {tuple(p[:2]) for p in server.sacn.pictures(1, since)} <= {(102, 255), (255, 102)}
    assert mo.ask("let_go", fixture="*")["is"] == "ok"


def test_a_second_unit_of_a_number_is_taken_when_it_is_wanted_and_listed(server: Server) -> None:
    lead = server.client()
    new = {**DIMMER, "position": "Bridge", "unit": "1"}
    assert "such as 1A" in problem(lead.post("/api/fixtures", json=new), 422)
    fixture = given(lead.post("/api/fixtures?even_so=true", json=new), 201)["id"]
    (found,) = given(lead.get("/api/patch/problems"))
    assert (found["kind"], found["refused"], found["other"]) == ("unit", False, "demo-1")
    # Once there, its other fields change without being asked again.
    given(lead.patch(f"/api/fixtures/{fixture}", json={"purpose": "Spare"}))
    assert lead.delete(f"/api/fixtures/{fixture}").status_code == 204


@pytest.mark.parametrize(
    ("wanted", "status"),
    [
        ({"from": "1"}, 422),
        ({"from": "0.1"}, 422),
        ({"from": "1.513"}, 422),
        ({"fixtures": ["nobody"]}, 422),
        ({"rules": {"gap": 512}}, 422),
    ],
)
def test_a_plan_that_cannot_be_meant_is_refused(server: Server, wanted: dict[str, Any], status: int) -> None:
    problem(server.client().post("/api/patch/plan", json=wanted), status)


@pytest.mark.parametrize("call", ["check", "plan"])
def test_only_the_lead_proposes(server: Server, call: str) -> None:
    problem(server.client("crew").post(f"/api/patch/{call}", json={}), 403)


def test_the_paper_of_a_fixture_may_say_more(server: Server) -> None:
    lead = server.client()
    more = {"Colour": " L201 ", "Circuit": "C 12"}
    told = given(lead.patch("/api/fixtures/demo-5", json={"more": more}))
    assert told["more"] == {"Colour": "L201", "Circuit": "C 12"}
    assert given(lead.patch("/api/fixtures/demo-5", json={"purpose": "x"}))["more"] == told["more"]
    assert given(lead.patch("/api/fixtures/demo-5", json={"more": {}}))["more"] == {}
    too_many = {"more": {str(n): "x" for n in range(65)}}
    problem(lead.patch("/api/fixtures/demo-5", json=too_many), 422)
    problem(lead.patch("/api/fixtures/demo-5", json={"more": {" ": "x"}}), 422)


def test_the_port_address_is_told_in_words(server: Server) -> None:
    told = given(server.client().get("/api/universes/2"))["artnet"]
    assert (told["port_address"], told["why"]) == (2, "Art-Net 2: net 0, sub-net 0, universe 2")
