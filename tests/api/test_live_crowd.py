"""The live channel with many at it: each as fast as it can, nobody in another's way."""

import time
from pathlib import Path
from typing import Any

from tests.api.answers import given
from tests.api.raw import large_rig, messages, open_live
from tests.phones import Message, merge
from tests.servers import Server, serving

__all__: list[str] = []

# A phone that takes nothing is let go after ten seconds; what a test does meanwhile may take as long.
PATIENT = "from server.api import hub, sockets\nhub.STUCK_S = sockets.LOOK_S = 600.0"


def _token(server: Server, role: str = "crew") -> str:
    return server.client(role).headers["Authorization"].removeprefix("Bearer ")


def test_here_comes_whenever_nothing_else_did_for_half_a_second(server: Server) -> None:
    asked, here = time.monotonic(), 0
    phone = server.phone()
    while here < 3:
        if phone.listen() == {"is": "here", "rev": phone.rig["rev"]}:
            here += 1
        else:
            asked, here = time.monotonic(), 0
            phone.ask("let_go", fixture="*")
    # Never sooner than promised after what was answered last; how much later depends on the machine.
    assert time.monotonic() - asked > 1.4


def test_people_come_and_go_and_their_lights_stay(server: Server) -> None:
    ada, token = server.phone("lead"), _token(server)
    mo = server.phone_with(token)
    who = mo.rig["you"]["id"]
    assert mo.ask("set", fixture="demo-23", values={"Dimmer": 1.0})["is"] == "ok"
    ada.until(lambda: ada.rig["people"].get(who, {}).get("here"))
    second = server.phone_with(token)
    mo.close()
    second.close()
    ada.until(lambda: not ada.rig["people"][who]["here"])
    spot = ada.rig["fixtures"]["demo-23"]
    assert (spot["holder"], spot["values"]["Dimmer"]) == (who, 1.0)
    again = server.phone_with(token)
    ada.until(lambda: ada.rig["people"][who]["here"])
    assert again.ask("let_go", fixture="*")["is"] == "ok"


def test_a_phones_signal_is_seen_by_others_while_it_is_here(server: Server) -> None:
    ada, token = server.phone("lead"), _token(server)
    mo = server.phone_with(token)
    who, rev = mo.rig["you"]["id"], mo.rig["rev"]
    for told in (None, 18, 240):
        assert mo.ask("signal", rtt_ms=told)["is"] == "ok"
        while ada.rig["people"].get(who, {}).get("rtt_ms", "") != told:
            assert ada.listen() is not None
    assert server.phone_with(token).rig["people"][who]["rtt_ms"] == 240
    assert mo.rig["rev"] >= rev
    server.hang_up()
    after = server.phone("lead")
    after.until(lambda: not after.rig["people"][who]["here"])
    assert after.rig["people"][who]["rtt_ms"] is None


def test_a_flood_from_one_phone_is_few_changes_on_another_and_the_newest_value_arrives(
    server: Server,
) -> None:
    one, other = server.phone(), server.phone()
    other.drain(2.0)
    began, before = time.monotonic(), len(other.heard)
    sent = [one.send("set", fixture="demo-2", values={"Dimmer": {"raw": n}}) for n in range(200)]
    other.until(lambda: other.rig["fixtures"]["demo-2"]["values"]["Dimmer"] == round(199 / 255, 4))
    took = time.monotonic() - began
    changes = [m for m in other.heard[before:] if m["is"] == "change"]
    assert len(changes) <= 30 * took + 3
    assert all(one.answer(n)["is"] == "ok" for n in sent)
    assert one.ask("let_go", fixture="*")["is"] == "ok"


def test_a_phone_that_floods_is_slowed_alone(server: Server) -> None:
    flood, other = server.phone(), server.phone()

    def asked_beside() -> int:
        """How often the other was answered before the last of the flood was."""
        began, many = time.monotonic(), 0
        values = [{"Dimmer": {"raw": n % 256}} for n in range(400)]
        last = [flood.send("set", fixture="demo-2", values=one) for one in values][-1]
        while last not in {message.get("n") for message in flood.heard}:
            assert other.ask("set", fixture="demo-3", values={"Dimmer": {"raw": many % 256}})["is"] == "ok"
            many += 1
            flood.drain(0.001)
        assert flood.answer(last)["is"] == "ok"
        assert time.monotonic() - began > 1.2  # 240 at once, then 120 a second
        return many

    # A machine that stands still meanwhile slows both, but not each time.
    assert any(asked_beside() > 20 for _ in range(5))
    for phone in (flood, other):
        assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_a_phone_that_stops_reading_slows_nobody_and_then_gets_the_newest_in_one_piece(
    tmp_path: Path,
) -> None:
    with serving(tmp_path / "data", first=PATIENT) as server:
        lead = server.client()
        given(lead.post("/api/rig/import", files={"file": ("rig.csv", large_rig())}))
        other = server.phone("lead")
        looks = [given(lead.post("/api/looks", json={"name": name}), 201)["id"] for name in ("One", "Two")]
        with open_live(server.port, _token(server), takes=4096) as narrow:
            before = len(other.heard)

            def told() -> list[Message]:
                return [m for m in other.heard[before:] if m["is"] == "change"]

            # 60 changes of 100 kB: more than the systems at both ends take in between.
            while len(told()) < 60:
                given(lead.post(f"/api/looks/{looks[len(told()) % 2]}/recall", json={"fade_s": 0}))
                assert other.ask("master", value=len(told()) / 60)["is"] == "ok"
            other.catch_up()
            other.drain()
            late, rig = 0, dict[str, Any]()
            for message in messages(narrow):
                if message["is"] == "hello":
                    rig = message
                elif message["is"] == "change":
                    late += 1
                    merge(rig, message)
                if rig["rev"] == other.rig["rev"]:
                    break
        assert late < len(told()) / 2
        for key in rig.keys() - {"is", "you"}:
            assert rig[key] == other.rig[key]
