"""Profiles drawn up over HTTP: from a chart, checked, tried on a fixture by the rules of the patch."""

import copy
import json
from typing import Any

from server.places import profiles_folder
from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []

CHART = "1\tDimmer\n2\tStrobe\t0-9\toff\n\t\t10-255\t1-20 Hz\n3\tFog"


def _drawn(server: Server, chart: str = CHART) -> dict[str, Any]:
    answer: dict[str, Any] = given(
        server.client().post("/api/profiles/draft", json={"chart": chart, "name": "Own unit"})
    )
    return answer


def test_a_chart_becomes_a_draft_and_nothing_is_kept(server: Server) -> None:
    drawn = _drawn(server)
    assert (drawn["report"], drawn["problems"]) == ([], [])
    assert drawn["profile"]["guarded"] == {"reason": "fog", "safe": 0}
    assert _drawn(server, "nothing of the kind")["profile"] is None
    assert given(server.client().get("/api/profiles", params={"q": "own-unit"})) == []
    problem(server.client("crew").post("/api/profiles/draft", json={"chart": CHART}), 403)
    problem(server.client().post("/api/profiles/draft", json={"chart": "x" * 200_001}), 422)


def test_a_draft_is_checked_as_it_stands(server: Server) -> None:
    draft = _drawn(server)["profile"]
    lead = server.client()
    assert given(lead.post("/api/profiles/check", json=draft)) == {"problems": []}
    twice = copy.deepcopy(draft)
    twice["modes"][0]["controls"][1]["offset"] = [1]
    told = given(lead.post("/api/profiles/check", json=twice))["problems"]
    assert "slot 1 belongs to Dimmer and Shutter1Strobe" in {p["why"] for p in told}
    bare = copy.deepcopy(draft)
    del bare["guarded"]
    for control in bare["modes"][0]["controls"]:
        del control["guarded"]
    (told,) = given(lead.post("/api/profiles/check", json=bare))["problems"]
    assert told == {"where": "mode 3-slot, Fog1", "why": "it makes fog and must be guarded"}
    assert "must be guarded" in problem(
        lead.post("/api/profiles/try?fixture=demo-1&mode=3-slot", content=json.dumps(bare)), 422
    )
    assert given(lead.post("/api/profiles/check", content=b"{"))["problems"]
    problem(server.client("crew").post("/api/profiles/check", json=draft), 403)


def test_a_draft_is_tried_on_a_fixture_and_the_fixture_put_back(server: Server) -> None:
    lead = server.client()
    draft = _drawn(server, "1\tDimmer\n2\tZoom")["profile"]
    wanted = {"profile": "dimmer", "mode": "1-slot", "universe": 900, "address": 1}
    unit = given(lead.post("/api/fixtures", json=wanted), 201)["id"]
    tried = given(lead.post(f"/api/profiles/try?fixture={unit}&mode=2-slot", json=draft))
    assert tried["was"] == {"profile": "dimmer", "mode": "1-slot"}
    phone = server.phone("lead")
    assert phone.ask("set", fixture=unit, values={"Zoom": 0.5})["is"] == "ok"
    # Changed, it is tried again under another key; neither is in the list.
    draft["modes"][0]["controls"][1]["home"] = 7
    again = given(lead.post(f"/api/profiles/try?fixture={unit}&mode=2-slot", json=draft))
    assert again["was"]["profile"] == tried["profile"] != again["profile"]
    assert given(lead.get("/api/profiles", params={"q": "trying"})) == []
    given(lead.patch(f"/api/fixtures/{unit}", json=tried["was"]))
    assert given(lead.get(f"/api/profiles/{again['profile']}"))["modes"][0]["controls"][1]["home"] == 7
    assert phone.ask("hands_on", fixture=unit, on=True)["is"] == "ok"
    refused = lead.post(f"/api/profiles/try?fixture={unit}&mode=2-slot", json=draft)
    assert "Hands are on" in problem(refused, 422)
    assert phone.ask("hands_on", fixture=unit, on=False)["is"] == "ok"
    assert phone.ask("let_go", fixture=unit)["is"] == "ok"
    phone.close()
    assert lead.delete(f"/api/fixtures/{unit}").status_code == 204
    problem(lead.post(f"/api/profiles/try?fixture={unit}&mode=2-slot", json=draft), 404)
    ours = (profiles_folder() / "dimmer.json").read_bytes()
    problem(server.client("crew").post("/api/profiles/try?fixture=demo-1&mode=1-slot", content=ours), 403)
