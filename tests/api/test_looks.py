"""Looks, the baseline, the focus order and the lead's settings over HTTP."""

from typing import Any

import pytest

from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []


def test_the_looks_are_told_with_the_baseline_marked(server: Server) -> None:
    looks = {look["id"]: look for look in given(server.client("house").get("/api/looks"))}
    assert looks["baseline"]["baseline"] is True
    assert looks["warm-wash"]["baseline"] is False
    assert looks["warm-wash"]["name"] == "Warm wash"
    assert looks["warm-wash"]["fixtures"] > 50


def test_a_look_is_kept_renamed_replaced_recalled_and_forgotten(server: Server) -> None:
    lead, phone = server.client(), server.phone("crew")
    assert phone.ask("set", fixture="demo-1", values={"Dimmer": 1.0})["is"] == "ok"
    saved = given(
        lead.post("/api/looks", json={"name": " Two   of us ", "fixtures": ["demo-1", "demo-2"]}), 201
    )
    look = saved["id"]
    assert (saved["name"], saved["fixtures"]) == ("Two of us", 2)
    phone.until(lambda: phone.rig["looks"].get(look) == {"name": "Two of us", "fixtures": 2})
    assert given(lead.patch(f"/api/looks/{look}", json={"name": "Pair"}))["name"] == "Pair"
    assert phone.ask("let_go", fixture="demo-1")["is"] == "ok"
    phone.until(lambda: phone.rig["fixtures"]["demo-1"]["values"]["Dimmer"] < 0.5)
    assert given(server.client("crew").post(f"/api/looks/{look}/recall", json={"fade_s": 0}))["rev"] > 0
    phone.until(lambda: phone.rig["fixtures"]["demo-1"]["values"]["Dimmer"] == 1.0)
    assert phone.ask("set", fixture="demo-1", values={"Dimmer": 0.5})["is"] == "ok"
    given(lead.patch(f"/api/looks/{look}", json={"replace": True}))
    assert phone.ask("let_go", fixture="demo-1")["is"] == "ok"
    given(lead.post(f"/api/looks/{look}/recall"))
    phone.until(lambda: phone.rig["fixtures"]["demo-1"]["values"]["Dimmer"] == 0.502)
    assert lead.delete(f"/api/looks/{look}").status_code == 204
    phone.until(lambda: look not in phone.rig["looks"])
    given(lead.post("/api/looks/baseline/recall", json={"fade_s": 0}))


def test_what_is_on_stage_becomes_the_baseline_without_a_body(server: Server) -> None:
    lead, phone = server.client(), server.phone("lead")
    made = given(lead.put("/api/looks/baseline"))
    phone.until(lambda: phone.rig["baseline"] == made["id"])
    assert "is the baseline" in problem(lead.delete(f"/api/looks/{made['id']}"), 422)
    assert given(lead.put("/api/looks/baseline", json={"look": None})) == {"look": None}
    phone.until(lambda: phone.rig["baseline"] is None)
    given(lead.put("/api/looks/baseline", json={"look": "baseline"}))
    phone.until(lambda: phone.rig["baseline"] == "baseline")
    assert lead.delete(f"/api/looks/{made['id']}").status_code == 204


def test_crew_keep_and_recall_looks_but_change_none(server: Server) -> None:
    crew, house = server.client("crew"), server.client("house")
    look = given(crew.post("/api/looks", json={"name": "Mine", "fixtures": ["demo-1"]}), 201)["id"]
    problem(crew.patch(f"/api/looks/{look}", json={"name": "Ours"}), 403)
    problem(crew.patch(f"/api/looks/{look}", json={"replace": True}), 403)
    problem(crew.delete(f"/api/looks/{look}"), 403)
    problem(crew.put("/api/looks/baseline", json={"look": look}), 403)
    problem(crew.put("/api/looks/baseline"), 403)
    assert problem(house.post("/api/looks", json={"name": "Mine"}), 403).startswith(
        "Only the lead or the crew"
    )
    problem(house.post(f"/api/looks/{look}/recall"), 403)
    given(server.client().get("/api/looks"))


@pytest.mark.parametrize(
    ("verb", "path", "body"),
    [
        ("PATCH", "/api/looks/nobodys", {"name": "x"}),
        ("PATCH", "/api/looks/nobodys", {"replace": True}),
        ("DELETE", "/api/looks/nobodys", None),
        ("POST", "/api/looks/nobodys/recall", {"fade_s": 1}),
    ],
)
def test_a_look_that_is_not_there_is_not_found(server: Server, verb: str, path: str, body: Any) -> None:
    assert "no such look" in problem(server.client().request(verb, path, json=body), 404)


@pytest.mark.parametrize(
    ("verb", "path", "body"),
    [
        ("POST", "/api/looks", {}),
        ("POST", "/api/looks", {"name": ""}),
        ("POST", "/api/looks", {"name": "x" * 61}),
        ("POST", "/api/looks", {"name": "x", "fixtures": ["nobodys"]}),
        ("POST", "/api/looks", {"name": "x", "fixtures": "demo-1"}),
        ("POST", "/api/looks", {"name": "x", "more": 1}),
        ("PATCH", "/api/looks/warm-wash", {}),
        ("POST", "/api/looks/warm-wash/recall", {"fade_s": -1}),
        ("POST", "/api/looks/warm-wash/recall", {"fade_s": 3601}),
        ("POST", "/api/looks/warm-wash/recall", {"fade_s": "2"}),
        ("POST", "/api/looks/warm-wash/recall", {"fade_s": 10**400}),
        ("PUT", "/api/looks/baseline", {}),
        ("PUT", "/api/looks/baseline", {"look": "nobodys"}),
        ("PUT", "/api/order", {"order": ["demo-1", "demo-1"]}),
        ("PUT", "/api/order", {"order": ["nobodys"]}),
        ("PUT", "/api/order", ["demo-1"]),
        ("PATCH", "/api/settings", {"light_up_s": 0.4}),
        ("PATCH", "/api/settings", {"light_up_level": 0}),
        ("PATCH", "/api/settings", {"let_go_s": 61}),
        ("PATCH", "/api/settings", {"off_limits": []}),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(server: Server, verb: str, path: str, body: Any) -> None:
    problem(server.client().request(verb, path, json=body), 422)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_a_fade_of_no_number_is_refused(server: Server, number: str) -> None:
    headers = {"Content-Type": "application/json"}
    body = f'{{"fade_s": {number}}}'
    problem(server.client().post("/api/looks/warm-wash/recall", content=body, headers=headers), 422)


def test_the_focus_order_and_the_settings_reach_every_phone(server: Server) -> None:
    lead, phone = server.client(), server.phone("crew")
    before = phone.rig["order"]
    assert given(lead.put("/api/order", json={"order": ["demo-2", "demo-1"]})) == {
        "order": ["demo-2", "demo-1"]
    }
    phone.until(lambda: phone.rig["order"] == ["demo-2", "demo-1"])
    given(lead.put("/api/order", json={"order": before}))
    changed = given(lead.patch("/api/settings", json={"let_go_s": 1, "light_up_level": 0.5}))
    assert changed == {"light_up_s": 0.7, "light_up_level": 0.5, "let_go_s": 1}
    phone.until(lambda: phone.rig["settings"] == changed)
    given(lead.patch("/api/settings", json={"let_go_s": 2.0, "light_up_level": 1.0}))
    problem(server.client("crew").patch("/api/settings", json={"let_go_s": 1}), 403)
    problem(server.client("crew").put("/api/order", json={"order": []}), 403)


def test_what_is_in_hand_is_shown_against_a_look_and_then_kept(server: Server) -> None:
    client, phone = server.client(), server.phone("lead", "Una")
    una = {"Authorization": f"Bearer {phone.token}"}
    assert phone.ask("set", fixture="demo-3", values={"Dimmer": 0.2})["is"] == "ok"
    look = given(client.post("/api/looks", json={"name": "Held", "fixtures": ["demo-3"]}), 201)["id"]
    assert given(client.get(f"/api/looks/{look}/hand", headers=una)) == []
    assert phone.ask("set", fixture="demo-3", values={"Dimmer": 0.8})["is"] == "ok"
    told = given(client.get(f"/api/looks/{look}/hand", headers=una))
    assert told == [{"fixture": "demo-3", "control": "Dimmer", "was": 51, "now": 204}]
    other = {"wanted": {"demo-3": {"Dimmer": 203}}}
    assert "by now" in problem(client.post(f"/api/looks/{look}/hand", json=other, headers=una), 422)
    kept = client.post(f"/api/looks/{look}/hand", json={"wanted": {"demo-3": {"Dimmer": 204}}}, headers=una)
    assert given(kept)["name"] == "Held"
    assert given(client.get(f"/api/looks/{look}/hand", headers=una)) == []
    problem(server.client("crew").post(f"/api/looks/{look}/hand"), 403)
    problem(client.get("/api/looks/none/hand"), 404)
    assert phone.ask("let_go", fixture="demo-3")["is"] == "ok"
    client.delete(f"/api/looks/{look}")
