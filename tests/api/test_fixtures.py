"""The patch over HTTP."""

from typing import Any

import pytest

from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []

FIELDS = {
    *("id", "channel", "unit", "position", "purpose", "profile", "mode", "universe", "address"),
    *("house", "guarded", "work_light", "notes"),
}
DIMMER: dict[str, Any] = {"profile": "dimmer", "mode": "1-slot"}


def test_each_fixture_is_told_with_all_its_fields(server: Server) -> None:
    listed = given(server.client("house").get("/api/fixtures"))
    assert len(listed) > 50
    assert all(fixture.keys() >= FIELDS for fixture in listed)
    first = next(fixture for fixture in listed if fixture["id"] == "demo-1")
    assert (first["channel"], first["position"], first["universe"], first["address"]) == (1, "Bridge", 1, 1)


def test_a_fixture_is_added_changed_and_taken_out_and_phones_hear_of_it(server: Server) -> None:
    lead, phone = server.client(), server.phone("crew")
    wanted = {**DIMMER, "channel": 300, "position": "Grid", "unit": "1", "universe": 4, "address": 512}
    added = given(lead.post("/api/fixtures", json=wanted), 201)
    assert added.items() >= wanted.items()
    fixture = added["id"]
    phone.until(lambda: phone.rig["fixtures"].get(fixture, {}).get("address") == 512)
    assert phone.rig["fixtures"][fixture]["values"] == {"Dimmer": 0.0}
    assert phone.rig["universes"] == [1, 2, 3, 4]
    changed = given(lead.patch(f"/api/fixtures/{fixture}", json={"address": 7, "notes": "stiff yoke"}))
    assert (changed["address"], changed["notes"], changed["channel"]) == (7, "stiff yoke", 300)
    phone.until(lambda: phone.rig["fixtures"][fixture]["notes"] == "stiff yoke")
    assert (
        given(lead.patch(f"/api/fixtures/{fixture}", json={"universe": None, "address": None}))["address"]
        is None
    )
    assert lead.delete(f"/api/fixtures/{fixture}").status_code == 204
    phone.until(lambda: fixture not in phone.rig["fixtures"])
    assert "no such fixture" in problem(lead.delete(f"/api/fixtures/{fixture}"), 404)
    assert "no such fixture" in problem(lead.patch(f"/api/fixtures/{fixture}", json={"unit": "9"}), 404)


def test_what_is_in_hand_keeps_its_hand_through_the_patch_and_does_not_go(server: Server) -> None:
    lead, mo = server.client(), server.phone("crew", "Mo")
    wanted = {**DIMMER, "channel": 301, "position": "Grid", "unit": "2", "universe": 1, "address": 500}
    fixture = given(lead.post("/api/fixtures", json=wanted), 201)["id"]
    assert mo.ask("set", fixture=fixture, values={"Dimmer": 0.5})["is"] == "ok"
    server.sacn.until_slot(1, 500, 128)
    given(lead.patch(f"/api/fixtures/{fixture}", json={"address": 505}))
    server.sacn.until_slot(1, 505, 128)
    server.sacn.until_slot(1, 500, 0)
    given(lead.patch(f"/api/fixtures/{fixture}", json={"mode": "2-slot 16 bit"}))
    mo.until(lambda: mo.rig["fixtures"].get(fixture, {}).get("mode") == "2-slot 16 bit", "the mode")
    assert mo.rig["fixtures"][fixture]["holder"] == mo.rig["you"]["id"]
    server.sacn.until_slot(1, 505, 128)
    assert "Mo has 301" in problem(lead.delete(f"/api/fixtures/{fixture}"), 422)
    assert mo.ask("let_go", fixture=fixture)["is"] == "ok"
    assert lead.delete(f"/api/fixtures/{fixture}").status_code == 204
    mo.until(lambda: fixture not in mo.rig["fixtures"])
    assert "no such fixture" in mo.ask("set", fixture=fixture, values={"Dimmer": 1})["why"]


@pytest.mark.parametrize("role", ["crew", "house"])
def test_only_the_lead_patches(server: Server, role: str) -> None:
    client = server.client(role)
    assert problem(client.post("/api/fixtures", json=DIMMER), 403) == "Only the lead can do that."
    problem(client.patch("/api/fixtures/demo-1", json={"channel": 5}), 403)
    problem(client.delete("/api/fixtures/demo-1"), 403)


@pytest.mark.parametrize(
    ("wanted", "why"),
    [
        ({"universe": 1, "address": 1}, "1 (Bridge unit 1) listens at 1.1"),
        ({"universe": 1, "address": 513}, "last start address"),
        ({"universe": 1, "address": 0}, "last start address"),
        ({"universe": 0, "address": 1}, "1 to 63999"),
        ({"universe": 64000, "address": 1}, "1 to 63999"),
        ({"universe": 10**400, "address": 1}, "1 to 63999"),
        ({"universe": 1}, "go together"),
        ({"profile": "nobody-made-this"}, "no profile"),
        ({"mode": "7-slot"}, "It has: 1-slot"),
        ({"position": "Bridge", "unit": "1"}, "already has a unit 1"),
    ],
)
def test_what_cannot_be_patched_is_refused_with_the_reason(
    server: Server, wanted: dict[str, Any], why: str
) -> None:
    assert why in problem(server.client().post("/api/fixtures", json={**DIMMER, **wanted}), 422)


@pytest.mark.parametrize(
    "wrong",
    [
        {"universe": "1", "address": 1},
        {"universe": 1.5, "address": 1},
        {"channel": -1},
        {"channel": 100_000},
        {"channel": True},
        {"position": 5},
        {"notes": "x" * 4001},
        {"house": "yes"},
        {"made_up": 1},
        {"id": "demo-1"},
    ],
)
def test_a_field_of_the_wrong_kind_is_named(server: Server, wrong: dict[str, Any]) -> None:
    for answer in (
        server.client().post("/api/fixtures", json={**DIMMER, **wrong}),
        server.client().patch("/api/fixtures/demo-1", json=wrong),
    ):
        assert problem(answer, 422).split(":")[0] in wrong


def test_nothing_was_changed_by_what_was_refused(server: Server) -> None:
    before = given(server.client().get("/api/fixtures"))
    server.client().patch("/api/fixtures/demo-2", json={"address": 1, "notes": "no"})
    assert given(server.client().get("/api/fixtures")) == before


def test_what_a_drawing_says_and_further_start_addresses_are_kept_as_given(server: Server) -> None:
    lead = server.client()
    placed = {"x_m": -2.5, "y_m": 1, "z_m": 6.2, "uuid": "a-b", "name": "Spot", "layer": "Overhead"}
    made = given(lead.post("/api/fixtures", json={**DIMMER, "placed": placed}), 201)
    upright = [1, 0, 0, 0, 1, 0, 0, 0, 1]
    assert made["placed"] == {**placed, "rotation": upright}
    assert made["starts"] == []
    place = f"/api/fixtures/{made['id']}"
    assert given(lead.patch(place, json={"notes": "x"}))["placed"] == made["placed"]
    wanted = {"starts": [{"number": 2, "universe": 3, "address": 400}]}
    assert "has no start address 2" in problem(lead.patch(place, json=wanted), 422)
    far = {**placed, "x_m": 1e9}
    problem(lead.patch(place, json={"placed": far}), 422)
    problem(lead.patch(place, json={"placed": {**placed, "rotation": [1] * 8}}), 422)
    assert given(lead.patch(place, json={"placed": None}))["placed"] is None
    assert lead.delete(place).status_code == 204
