"""Who answered instead, and which light this is, over HTTP and the live channel."""

import pytest

from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []


def test_a_swap_is_told_in_words_with_what_proves_it_and_what_to_ask_next(server: Server) -> None:
    lead = server.client()
    answers = [{"asked": "demo-21", "lit": ["demo-22"]}, {"asked": "demo-23", "lit": ["demo-23"]}]
    found = given(lead.post("/api/explain", json={"answers": answers}))
    first = found[0]["mistakes"][0]
    assert first["kind"] == "swapped"
    assert first["why"] == "21 (LX 1 unit 1) and 22 (LX 1 unit 2) have each other's address."
    assert first["proof"]["why"].startswith("Read both addresses")
    fixtures = {f["id"]: f for f in given(lead.get("/api/fixtures"))}
    assert first["fixtures"]["demo-21"]["address"] == fixtures["demo-22"]["address"]
    assert found[0]["check"] == {"fixture": "demo-22", "lit": ["demo-21"]}


def test_a_rig_that_answers_as_patched_has_nothing_to_explain(server: Server) -> None:
    answers = [{"asked": "demo-1", "lit": ["demo-1"]}]
    assert given(server.client("crew").post("/api/explain", json={"answers": answers})) == []


@pytest.mark.parametrize(
    ("role", "answers", "status"),
    [
        ("house", [{"asked": "demo-1", "lit": []}], 403),
        ("crew", [{"asked": "nobody", "lit": []}], 422),
        ("crew", [], 422),
        ("crew", [{"asked": "demo-1", "lit": ["demo-2"] * 21}], 422),
    ],
)
def test_what_cannot_be_explained_is_refused(
    server: Server, role: str, answers: list[object], status: int
) -> None:
    problem(server.client(role).post("/api/explain", json={"answers": answers}), status)


def test_a_light_is_found_on_the_live_channel_and_everybody_sees_it(server: Server) -> None:
    mo, lead = server.phone("crew", "Mo"), server.phone("lead")
    assert mo.ask("seek", fixtures=["demo-25", "demo-26", "demo-27"])["is"] == "ok"
    lead.until(lambda: lead.rig["seek"], "the search")
    assert lead.rig["seek"]["left"] == ["demo-25", "demo-26", "demo-27"]
    assert lead.rig["seek"]["breathing"] == ["demo-25", "demo-26"]
    assert lead.rig["seek"]["most"] == 2
    assert lead.ask("seek")["why"] == "Mo looks for a light already."
    assert mo.ask("seek_answer", mine=False)["is"] == "ok"
    mo.until(lambda: mo.rig["seek"]["left"] == ["demo-27"], "the one that is left")
    assert mo.ask("seek_end", found=True)["is"] == "ok"
    mo.until(lambda: mo.rig["seek"] is None, "its end")
    assert mo.rig["fixtures"]["demo-27"]["holder"] == mo.rig["you"]["id"]
    assert mo.ask("let_go", fixture="*")["is"] == "ok"
