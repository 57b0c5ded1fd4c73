"""A rig check over the live channel: told to every phone, refused in words, and read back as rounds."""

from tests.api.answers import given, problem
from tests.servers import Server

__all__: list[str] = []


def test_a_check_is_told_to_every_phone_and_its_rounds_are_read_back(server: Server) -> None:
    lead, mo, hal = server.phone("lead"), server.phone("crew"), server.phone("house")
    assert lead.ask("check_round", level=0.3, begin=True)["is"] == "ok"
    number = given(server.client("lead").get("/api/check/rounds"))[0]["number"]
    assert mo.ask("check_start", order="position", where="LX 1")["is"] == "ok"
    hal.until(lambda: hal.rig["check"]["people"])
    (where,) = hal.rig["check"]["people"].values()
    assert (where["fixture"], where["at"], where["of"]) == ("demo-21", 1, 8)
    assert hal.rig["check"]["round"]["level"] == 0.3
    assert mo.ask("judge", fixture="demo-21", works=False, reason="weak", note="lamp?")["is"] == "ok"
    assert mo.ask("check_step")["is"] == "ok"
    hal.until(lambda: hal.rig["fixtures"]["demo-22"]["holder"])
    assert hal.rig["fixtures"]["demo-21"]["checked"] == "fault"
    assert hal.rig["fixtures"]["demo-21"]["fault"] == "Weak light: lamp?"
    assert (hal.rig["check"]["faults"], hal.rig["check"]["works"]) == (1, 0)
    refused = hal.ask("judge", fixture="demo-22", works=True)
    assert (refused["is"], "House staff" in refused["why"]) == ("refused", True)
    assert mo.ask("check_round", level=0.5, begin=True)["why"] == "Only the lead can do that."
    crew, house = server.client("crew"), server.client("house")
    (seen,) = given(crew.get(f"/api/check/rounds/{number}"))
    assert (seen["fixture"], seen["reason"], seen["note"], seen["level"]) == ("demo-21", "weak", "lamp?", 0.3)
    assert given(house.get(f"/api/check/rounds/{number}")) == []
    table = crew.get(f"/api/check/rounds/{number}/table.csv")
    assert "fault,Weak light,lamp?,30," in table.text
    problem(crew.get("/api/check/rounds/999"), 404)
    assert mo.ask("check_stop")["is"] == "ok"
    mo.ask("fault", fixture="demo-21", words=None)
    hal.until(lambda: not hal.rig["check"]["people"])
    assert hal.rig["fixtures"]["demo-22"]["holder"] is None
