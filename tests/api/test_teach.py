"""What is taught of a fixture, over the live channel and as a draft over HTTP."""

from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []


def test_a_draft_follows_the_answers_and_is_for_lead_and_crew(server: Server) -> None:
    crew, kit = server.client("crew"), server.phone("crew", "Kit")
    assert problem(crew.get("/api/teach/draft"), 404) == "Nobody teaches a fixture."
    assert kit.ask("teach_begin", universe=7, first=1, slots=2)["is"] == "ok"
    kit.until(lambda: kit.rig["teaching"], "the step")
    assert kit.rig["teaching"]["step"]["slot"] == 1
    assert kit.ask("teach_answer", answer="red")["is"] == "ok"
    assert kit.ask("teach_answer", answer="smoke")["is"] == "ok"
    controls = given(crew.get("/api/teach/draft?name=Old%20box"))["modes"][0]["controls"]
    assert [c["key"] for c in controls] == ["Dimmer", "Fog1"]
    assert controls[1]["guarded"] == {"reason": "fog", "safe": 0}
    assert "lead or the crew" in problem(server.client("house").get("/api/teach/draft"), 403)
    kit.ask("teach_answer", answer=None)
    kit.ask("teach_answer", answer="flame")
    assert "never driven" in problem(crew.get("/api/teach/draft"), 422)
    assert kit.ask("teach_end")["is"] == "ok"
