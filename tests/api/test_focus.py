"""The focus call over HTTP and the live channel: a lead, and two people on ladders."""

from typing import Any

from tests.api.answers import given, problem
from tests.phones import Phone
from tests.servers import Server

__all__: list[str] = []

ORDER = ["demo-1", "demo-2", "demo-3", "demo-4"]


def level(phone: Phone, fixture: str) -> float:
    value: float = phone.rig["fixtures"][fixture]["level"]
    return value


def settled(server: Server) -> None:
    """Nobody is at anything, nothing is noted or held, and the list is ORDER."""
    lead = server.phone("lead")
    for person in lead.rig["now"]:
        lead.ask("focus_at", fixture=None, of=person)
    for fixture, it in lead.rig["fixtures"].items():
        if it["holder"]:
            lead.ask("let_go", fixture=fixture)
        if it["focus"] and it["focus"]["mark"] != "todo":
            lead.ask("focus_mark", fixture=fixture, mark="todo")
    lead.ask("focus_give", fixtures=list(lead.rig["fixtures"]), to=None)
    given(server.client().put("/api/order", json={"order": ORDER}))
    lead.close()


def test_everybody_sees_who_is_at_which_unit_and_the_next_is_up_first(server: Server) -> None:
    settled(server)
    lead, mo = server.phone("lead"), server.phone("crew", "Mo")
    me = mo.rig["you"]["id"]
    assert mo.ask("focus_next")["is"] == "ok"
    lead.until(lambda: lead.rig["now"] == {me: "demo-1"})
    assert lead.ask("focus_next", of=me, after="demo-1", mark="done")["is"] == "ok"
    assert mo.ask("focus_next", after="demo-1", mark="done")["is"] == "ok"  # pressed at the same time
    mo.until(lambda: mo.rig["now"] == {me: "demo-2"})
    mo.until(lambda: abs(level(mo, "demo-2") - 0.5) < 0.01)
    assert mo.rig["fixtures"]["demo-2"]["holder"] == me
    shown = mo.rig["fixtures"]["demo-1"]["focus"]
    assert (shown["mark"], shown["given"], shown["kept"]) == ("done", None, True)
    rows = {row["fixture"]: row for row in given(server.client("crew").get("/api/focus"))}
    assert list(rows) == ORDER
    assert (rows["demo-1"]["mark"], rows["demo-2"]["now"], rows["demo-3"]["mark"]) == ("done", [me], "todo")
    kept = given(server.client("crew").get("/api/focus/demo-1"))["values"]
    assert kept["Dimmer"] == {"raw": 128}
    assert mo.ask("set", fixture="demo-1", values=kept)["is"] == "ok"  # as it was focused
    settled(server)
    mo.until(lambda: mo.rig["now"] == {})


def test_the_lead_gives_units_to_people_and_sets_the_call(server: Server) -> None:
    settled(server)
    lead, kit = server.phone("lead"), server.phone("crew", "Kit")
    me = kit.rig["you"]["id"]
    assert lead.ask("focus_give", fixtures=["demo-1", "demo-3"], to="nobody")["is"] == "refused"
    other = lead.rig["you"]["id"]
    assert lead.ask("focus_give", fixtures=["demo-1", "demo-3"], to=other)["is"] == "ok"
    assert kit.ask("focus_next")["is"] == "ok"
    kit.until(lambda: kit.rig["now"] == {me: "demo-2"})
    assert kit.rig["fixtures"]["demo-3"]["focus"]["given"] == other
    client = server.client()
    call = given(client.patch("/api/focus", json={"level": 0.3, "beside": "position", "beside_level": 0.2}))
    assert call == {"level": 0.3, "fade_s": 2.0, "beside": "position", "beside_level": 0.2}
    kit.until(lambda: kit.rig["call"] == call)
    assert kit.ask("focus_next", mark="done")["is"] == "ok"
    kit.until(lambda: abs(level(kit, "demo-4") - 0.3) < 0.01)
    kit.until(lambda: kit.rig["fixtures"]["demo-3"]["values"]["Dimmer"] == 0.2)  # beside it, in nobody's hand
    assert kit.rig["fixtures"]["demo-3"]["holder"] is None
    given(client.patch("/api/focus", json={"level": 0.5, "beside": "", "beside_level": 0.2}))
    assert "Levels go from" in problem(client.patch("/api/focus", json={"level": 3}), 422)
    problem(server.client("crew").patch("/api/focus", json={"level": 1}), 403)
    problem(client.get("/api/focus/nobody"), 404)
    settled(server)
    kit.until(lambda: kit.rig["fixtures"]["demo-3"]["values"]["Dimmer"] != 0.2)


def test_a_note_is_told_to_all_at_once(server: Server) -> None:
    lead, mo = server.phone("lead"), server.phone("crew", "Mo")
    note = {"spot": "to my head", "top": "off the border"}
    assert lead.ask("focus_note", fixture="demo-2", note=note)["is"] == "ok"
    mo.until(lambda: (mo.rig["fixtures"]["demo-2"]["focus"] or {}).get("note") == note)
    assert lead.ask("focus_note", fixture="demo-2", note={"wax": "x"})["is"] == "refused"
    assert lead.ask("focus_note", fixture="demo-2", note=dict.fromkeys(note, ""))["is"] == "ok"
    mo.until(lambda: mo.rig["fixtures"]["demo-2"]["focus"]["note"] == {})


def test_a_call_reaches_the_other_phone_and_the_record_and_is_seen(server: Server) -> None:
    lead, mo = server.phone("lead", "Bea"), server.phone("crew", "Mo")
    assert mo.ask("shout", what="work_light")["is"] == "ok"
    you, me = lead.rig["you"]["id"], mo.rig["you"]["id"]

    def calls() -> list[dict[str, Any]]:
        return [shout for shout in lead.rig["shouts"] if shout["person"] == me and not shout["seen"]]

    lead.until(lambda: calls())
    (call,) = calls()
    assert (call["what"], call["name"], you in call["to"], call["ago_s"] < 10) == (
        "work_light",
        "Mo",
        True,
        True,
    )
    assert lead.ask("shout_seen", number=call["number"])["is"] == "ok"
    mo.until(lambda: any(you in shout["seen"] for shout in mo.rig["shouts"]))
    record = given(server.client().get("/api/record", params={"q": "Need work light"}))
    assert any(entry["what"].startswith("Called Need work light to ") for entry in record)
    assert any(entry["what"] == "Saw the call Need work light of Mo." for entry in record)
    assert mo.ask("shout", what="hurry")["is"] == "refused"
