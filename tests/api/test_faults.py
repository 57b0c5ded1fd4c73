"""The register of faults over HTTP: read, taken away, and questions that use what the laptop knows."""

from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []


def test_a_fault_is_told_read_with_its_story_and_taken_away(server: Server) -> None:
    mo, kit = server.phone("crew", "Mona"), server.phone("crew")
    before = kit.rig["faults"]["steps"]
    mo.ask("fault", fixture="demo-31", words="lens cracked")
    kit.until(lambda: kit.rig["faults"]["steps"] == before + 1)
    crew = server.client("crew")
    case = given(crew.get("/api/faults?fixture=demo-31"))[0]
    assert (case["status"], case["words"], case["here"]) == ("open", "lens cracked", True)
    assert kit.ask("fault_settle", case=case["number"], what="fixed", words="new lens")["is"] == "ok"
    assert "not open" in kit.ask("fault_settle", case=case["number"], what="fixed")["why"]
    case = given(crew.get("/api/faults?fixture=demo-31"))[0]
    assert [(step["what"], step["words"]) for step in case["steps"]] == [
        ("opened", "lens cracked"),
        ("fixed", "new lens"),
    ]
    assert case["steps"][0]["by"].startswith("Mona")
    assert case["status"] == "fixed"
    mo.until(lambda: mo.rig["fixtures"]["demo-31"]["fault"] is None)
    assert "lens cracked" in crew.get("/api/faults/table.csv").text
    assert given(server.client("house").get("/api/faults?fixture=demo-31")) == []
    mo.ask("fault_settle", case=case["number"], what="verified")


def test_the_questions_use_what_the_laptop_knows_and_say_what_it_does_not(server: Server) -> None:
    mo, crew = server.phone("crew"), server.client("crew")
    where = {"fixture": "demo-32", "symptom": "no_answer"}
    dark = given(crew.get("/api/faults/guide", params=where))
    assert "Nothing is sent" in dark["cause"]["why"]
    assert mo.ask("light_up", fixture="demo-32")["is"] == "ok"
    lit = {}
    for _ in range(100):  # it comes up by a fade
        lit = given(crew.get("/api/faults/guide", params=where))
        if lit["question"]:
            break
    known = [one["why"] for one in lit["known"]]
    assert known[:3] == [
        "It is patched.",
        "Light is sent to it now.",
        "No other unit of the patch listens on its slots.",
    ]
    assert any("would not be heard" in one["why"] for one in lit["unknown"])
    asked = given(crew.get("/api/faults/guide", params={**where, "answers": "nyy"}))
    assert "universe 2" in asked["question"]["why"] or asked["question"]["why"].startswith("Does its display")
    problem(crew.get("/api/faults/guide", params={**where, "symptom": "smells"}), 404)
    problem(crew.get("/api/faults/guide", params={**where, "answers": "maybe"}), 422)
    mo.ask("let_go", fixture="demo-32")
