"""What protects people, asked over the live channel and seen on the wire."""

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.phones import Message, Phone
from tests.servers import Server, serving

__all__: list[str] = []

HAZER, RELAY, SPOT, BEAM, WORK = "demo-75", "demo-76", "demo-21", "demo-71", "demo-95"


def slot_of(phone: Phone, fixture: str, key: str) -> tuple[int, int]:
    """Universe and slot of the coarse byte of a control."""
    it = phone.rig["fixtures"][fixture]
    mode = next(m for m in phone.rig["profiles"][it["profile"]]["modes"] if m["name"] == it["mode"])
    control = next(c for c in mode["controls"] if c["key"] == key)
    return it["universe"], it["address"] + control["offset"][0] - 1


def levels(server: Server, where: tuple[int, int], since: float = 0.0) -> list[int]:
    universe, slot = where
    return [picture[slot - 1] for picture in server.sacn.pictures(universe, since)]


def wait(server: Server, where: tuple[int, int], true: Callable[[int], object], why: str) -> None:
    server.sacn.until(lambda: true(levels(server, where)[-1]), why)


def press(server: Server, phone: Phone, where: tuple[int, int], held: dict[str, Any]) -> None:
    """Hold a button until it is seen to run: whoever is held up for a second had let go of it."""
    since = time.monotonic()
    ok(phone.ask("run", **held))
    server.sacn.until(lambda: 255 in levels(server, where, since), "that it runs")


def ok(answer: Message) -> None:
    assert answer["is"] == "ok", answer


def shut(phone: Phone, name: str) -> dict[str, Any]:
    """A function of the moving spot's shutter, by name."""
    it = phone.rig["fixtures"][SPOT]
    mode = next(m for m in phone.rig["profiles"][it["profile"]]["modes"] if m["name"] == it["mode"])
    control = next(c for c in mode["controls"] if c["key"] == "Shutter1")
    found: dict[str, Any] = next(f for f in control["functions"] if f.get("name") == name)
    return found


@pytest.mark.parametrize("role", ["crew", "house"])
def test_what_is_the_leads_is_refused_to_everybody_else(server: Server, role: str) -> None:
    phone = server.phone(role)
    for do, fields in (
        ("arm", {"fixture": HAZER, "reason": "fun"}),
        ("going_dark", {}),
        ("lift_flashes", {"fixture": SPOT}),
        ("aloft", {"position": None, "of": "nobody"}),
    ):
        assert phone.ask(do, **fields)["why"] == "Only the lead can do that."
    why = phone.ask("set", fixture=WORK, values={"Dimmer": 0})["why"]
    assert "only the lead drives it" in why or "not a house fixture" in why
    universe, slot = slot_of(phone, WORK, "Dimmer")
    assert phone.ask("slot", universe=universe, slot=slot, raw=0)["is"] == "refused"


def test_haze_runs_only_while_armed_and_held_and_stops_when_the_phone_is_lost(server: Server) -> None:
    lead, mo = server.phone("lead"), server.phone("crew", "Mo")
    where = slot_of(mo, HAZER, "Haze1")
    held = {"fixture": HAZER, "values": {"Haze1": 1.0}, "press": 7, "on": True}
    assert mo.ask("run", **held)["why"].endswith("is guarded and not armed. Ask the lead to arm it.")
    ok(lead.ask("arm", fixture=HAZER, reason="test of the haze", seconds=30))
    mo.until(lambda: mo.rig["fixtures"][HAZER]["armed"], "the mark")
    assert mo.rig["fixtures"][HAZER]["armed"]["reason"] == "test of the haze"
    assert mo.ask("set", fixture=HAZER, values={"Haze1": 1.0})["is"] == "refused"
    press(server, mo, where, held)
    ok(mo.ask("run", **{**held, "on": False}))
    wait(server, where, lambda level: level == 0, "no haze")
    press(server, mo, where, {**held, "press": 8})
    mo.close()
    wait(server, where, lambda level: level == 0, "no haze without a phone")
    ok(lead.ask("arm", fixture=HAZER, reason=None))
    assert lead.ask("run", **{**held, "press": 9})["is"] == "refused"


def test_arming_ends_by_itself_and_everybody_is_told(server: Server) -> None:
    lead, mo = server.phone("lead"), server.phone("crew")
    ok(lead.ask("arm", fixture=RELAY, reason="lantern", seconds=1))
    mo.until(lambda: mo.rig["fixtures"][RELAY]["armed"], "armed")
    mo.until(lambda: mo.rig["fixtures"][RELAY]["armed"] is None, "disarmed by the clock")


def test_what_hangs_beside_somebody_aloft_stays_still_until_it_is_held(server: Server) -> None:
    kit, mo = server.phone("crew", "Kit"), server.phone("crew", "Mo")
    where = slot_of(mo, BEAM, "Pan")
    ok(mo.ask("set", fixture=BEAM, values={"Pan": 0.25}))
    wait(server, where, lambda level: level == 64, "pan")
    ok(kit.ask("aloft", position="Floor"))
    mo.until(lambda: mo.rig["fixtures"][BEAM]["still"], "the mark")
    refused = mo.ask("set", fixture=BEAM, values={"Pan": 0.75})
    assert (refused["ask"], "Kit is aloft there" in refused["why"]) == ("held", True)
    ok(mo.ask("let_go", fixture=BEAM))
    ok(mo.ask("light_up", fixture=BEAM))
    time.sleep(0.5)
    assert set(levels(server, where)[-10:]) == {64}
    began = time.monotonic()
    ok(mo.ask("set", fixture=BEAM, values={"Pan": 0.75}, held=True))
    wait(server, where, lambda level: level == 191, "pan at last")
    assert time.monotonic() - began > 2  # slowly
    climb = levels(server, where, began)
    assert climb == sorted(climb)
    ok(kit.ask("aloft", position=None))
    ok(mo.ask("let_go", fixture=BEAM))


def test_dark_waits_for_a_yes_and_an_absent_phone_keeps_its_mark(server: Server) -> None:
    lead, kit, mo = server.phone("lead", "Ada"), server.phone("crew", "Kit"), server.phone("crew", "Mo")
    where = slot_of(mo, "demo-1", "Dimmer")
    ok(mo.ask("set", fixture="demo-1", values={"Dimmer": 1}))
    wait(server, where, lambda level: level == 255, "light")
    ok(kit.ask("aloft", position="LX 3"))
    for phone in (mo, lead):
        assert phone.ask("blackout", on=True)["ask"] == "dark"
        assert phone.ask("master", value=0)["ask"] == "dark"
    me = kit.rig["you"]["id"]
    kit.close()
    ok(lead.ask("going_dark"))
    mo.until(lambda: mo.rig["dark"], "the call")
    ok(mo.ask("dark_answer", yes=False))
    lead.until(lambda: (lead.rig["dark"] or {}).get("refused") == mo.rig["you"]["id"], "not yet")
    assert lead.rig["people"][me]["aloft"] == "LX 3"
    ok(lead.ask("going_dark"))
    again = server.phone_with(kit.token)
    ok(again.ask("dark_answer", yes=True))
    lead.until(lambda: lead.rig["blackout"], "dark")
    wait(server, where, lambda level: level == 0, "dark on the wire")
    ok(mo.ask("blackout", on=False))
    ok(lead.ask("aloft", position=None, of=me))
    ok(mo.ask("let_go", fixture="*"))


def test_flashing_is_held_slow_and_lifted_for_one_fixture_by_the_lead(server: Server) -> None:
    lead, mo = server.phone("lead"), server.phone("crew")
    where, strobe = slot_of(mo, SPOT, "Shutter1"), shut(mo, "Strobe")
    (first, last), (slow, fast) = strobe["dmx"], strobe["physical"]

    def at(hertz: float) -> dict[str, int]:
        return {"raw": round(first + (hertz - slow) / (fast - slow) * (last - first))}

    assert mo.ask("set", fixture=SPOT, values={"Shutter1": at(2.5)})["ask"] == "held"
    ok(mo.ask("set", fixture=SPOT, values={"Shutter1": at(2.5)}, held=True))
    wait(server, where, lambda level: level == at(2.5)["raw"], "a slow strobe")
    assert "faster than 3" in mo.ask("set", fixture=SPOT, values={"Shutter1": at(4.5)}, held=True)["why"]
    assert "flash already" in lead.ask("set", fixture="demo-22", values={"Shutter1": at(2)}, held=True)["why"]
    ok(lead.ask("lift_flashes", fixture=SPOT))
    mo.until(lambda: mo.rig["lifted"], "told to all")
    ok(mo.ask("set", fixture=SPOT, values={"Shutter1": at(4.5)}, held=True))
    wait(server, where, lambda level: level == at(4.5)["raw"], "a faster strobe")
    ok(lead.ask("lift_flashes", fixture=None))
    wait(server, where, lambda level: not first <= level <= last, "open again")
    ok(mo.ask("let_go", fixture="*"))


def test_marks_outlive_the_server(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        _marks_outlive(server)


def _marks_outlive(server: Server) -> None:
    kit, lead = server.phone("crew", "Kit"), server.phone("lead")
    ok(kit.ask("aloft", position="LX 2"))
    ok(kit.ask("hands_on", fixture=SPOT, on=True))
    ok(lead.ask("arm", fixture=HAZER, reason="a test"))
    ok(lead.ask("lift_flashes", fixture=SPOT))
    me = kit.rig["you"]["id"]
    server.kill()
    server.start()
    again = server.phone_with(lead.token)
    # How long it was away only a clock says that may have been set meanwhile.
    assert again.rig["fixtures"][HAZER]["armed"] is None
    assert again.rig["lifted"] is None
    assert again.rig["people"][me]["aloft"] == "LX 2"
    assert again.rig["fixtures"][SPOT]["hands_on"] == [me]
    assert again.rig["fixtures"]["demo-31"]["still"]
    assert again.ask("set", fixture=SPOT, values={"Pan": 0.1})["why"].startswith("Hands are on")
    ok(again.ask("aloft", position=None, of=me))
    ok(again.ask("hands_on", fixture=SPOT, on=False, of=me))
