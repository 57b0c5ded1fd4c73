"""The live channel of a running server, from outside."""

import json
import socket
import time
from typing import Any

import pytest
from websockets.exceptions import ConnectionClosedError
from websockets.sync.client import connect

from tests.servers import Server

__all__: list[str] = []

HELLO = {
    *(
        "is",
        "rev",
        "you",
        "show",
        "people",
        "fixtures",
        "profiles",
        "looks",
        "baseline",
        "master",
        "blackout",
    ),
    *("order", "settings", "slots", "universes", "alerts", "laptop"),
}
FIXTURE = {
    *("channel", "unit", "position", "purpose", "profile", "mode", "universe", "address", "house", "guarded"),
    *("work_light", "notes", "values", "holder", "level"),
}


def _url(server: Server, token: str) -> str:
    return f"ws://127.0.0.1:{server.port}/api/live?token={token}"


def _token(server: Server, role: str = "crew") -> str:
    return server.client(role).headers["Authorization"].removeprefix("Bearer ")


def test_who_asks_for_one_unit_first_gets_it_first(server: Server) -> None:
    with connect(f"{server.live}?token={_token(server)}&open=demo-21", proxy=None) as live:
        hello, rest = (json.loads(live.recv()) for _ in range(2))
    assert (list(hello["fixtures"]), hello["more"]) == (["demo-21"], True)
    assert (rest["is"], len(rest["fixtures"]) > 50) == ("rest", True)


def test_hello_holds_the_whole_state(server: Server) -> None:
    phone = server.phone("crew", "Mo")
    hello = phone.heard[0]
    assert hello["is"] == "hello"
    assert hello.keys() >= HELLO
    you = hello["you"]
    assert (you["name"], you["role"]) == ("Mo", "crew")
    assert hello["people"][you["id"]].items() >= {"name": "Mo", "role": "crew", "here": True}.items()
    for fixture in hello["fixtures"].values():
        assert fixture.keys() >= FIXTURE
        modes = {mode["name"]: mode for mode in hello["profiles"][fixture["profile"]]["modes"]}
        controls = modes[fixture["mode"]]["controls"]
        assert fixture["values"].keys() == {control["key"] for control in controls}
        assert all(0 <= value <= 1 for value in (*fixture["values"].values(), fixture["level"]))
    in_use = {(f["profile"], f["mode"]) for f in hello["fixtures"].values()}
    assert in_use == {
        (key, m["name"]) for key, profile in hello["profiles"].items() for m in profile["modes"]
    }
    assert hello["settings"] == {"light_up_s": 0.7, "light_up_level": 1.0, "let_go_s": 2.0}
    assert set(hello["order"]) <= hello["fixtures"].keys()


def test_every_command_is_answered_by_its_number(server: Server) -> None:
    phone = server.phone("lead")
    rev = phone.rig["rev"]
    spot, controls = "demo-21", phone.rig["fixtures"]["demo-21"]["values"]
    assert controls.keys() >= {"Pan", "Tilt", "Dimmer"}
    sent = [
        phone.send("take", fixture=spot),
        phone.send(
            "set", fixture=spot, values={"Pan": 0.25, "Tilt": {"raw": 1000}, "Dimmer": {"physical": 0.5}}
        ),
        phone.send("set_many", values={spot: {"Pan": 0.5}, "demo-22": {"Dimmer": 0.5}}),
        phone.send("fault", fixture=spot, words="stiff tilt"),
        phone.send("fault", fixture=spot, words=None),
        phone.send("light_up", fixture=spot),
        phone.send("light_up", fixture=spot, as_it_hangs=True),
        phone.send("hands_on", fixture=spot, on=True),
        phone.send("hands_on", fixture=spot, on=False),
        phone.send("slot", universe=1, slot=511, raw=255),
        phone.send("slot", universe=1, slot=511, raw=None),
        phone.send("master", value=0.5),
        phone.send("master", value=1),
        phone.send("blackout", on=True),
        phone.send("blackout", on=False),
        phone.send("let_go", fixture=spot),
        phone.send("let_go", fixture="*"),
    ]
    answers = [phone.answer(n) for n in sent]
    assert [answer["is"] for answer in answers] == ["ok"] * len(sent), answers
    revs = [answer["rev"] for answer in answers]
    assert revs == sorted(revs)
    assert revs[0] > rev
    order = [m["n"] for m in phone.heard if m["is"] == "ok"]
    assert order == sent


def test_a_fixture_in_somebody_elses_hand_asks_first_and_tells_who(server: Server) -> None:
    ada, mo = server.phone("crew", "Ada"), server.phone("crew", "Mo")
    assert ada.ask("take", fixture="demo-22")["is"] == "ok"
    for asked in (("set", {"values": {"Dimmer": 1.0}}), ("take", {}), ("light_up", {})):
        refused = mo.ask(asked[0], fixture="demo-22", **asked[1])
        assert refused["is"] == "refused"
        assert refused["why"] == "Ada has 22. Take it?"
        assert (refused["ask"], refused["fixture"], refused["holder"]) == (
            "take",
            "demo-22",
            ada.rig["you"]["id"],
        )
    assert mo.ask("take", fixture="demo-22", over=True)["is"] == "ok"
    ada.until(lambda: ada.rig["fixtures"]["demo-22"]["holder"] == mo.rig["you"]["id"])
    assert "Mo has" in ada.ask("let_go", fixture="demo-22")["why"]
    assert mo.ask("let_go", fixture="*")["is"] == "ok"


def test_flashing_asks_to_be_held(server: Server) -> None:
    phone = server.phone("crew")
    strobe = {"Shutter1": {"range": "Strobe"}}
    spot = phone.rig["fixtures"]["demo-21"]
    mode = next(m for m in phone.rig["profiles"][spot["profile"]]["modes"] if m["name"] == spot["mode"])
    functions = next(c for c in mode["controls"] if c["key"] == "Shutter1")["functions"]
    flashing = next(f for f in functions if "Strobe" in f["attribute"])
    strobe = {"Shutter1": {"raw": flashing["dmx"][0]}}
    refused = phone.ask("set", fixture="demo-21", values=strobe)
    assert (refused["is"], refused["ask"]) == ("refused", "held")
    assert phone.ask("set", fixture="demo-21", values=strobe, held=True)["is"] == "ok"
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_an_action_asks_to_be_held_and_leaves_for_as_long_as_its_profile_says(server: Server) -> None:
    phone = server.phone("crew")
    spot = phone.rig["fixtures"]["demo-21"]
    mode = next(m for m in phone.rig["profiles"][spot["profile"]]["modes"] if m["name"] == spot["mode"])
    control, function = next(
        (c, f) for c in mode["controls"] for f in c["functions"] if f.get("action", {}).get("kind") == "reset"
    )
    asked = {"fixture": "demo-21", "control": control["key"], "function": function["name"]}
    refused = phone.ask("act", **asked)
    assert (refused["ask"], function["action"]["words"] in refused["why"]) == ("held", True)
    before = time.monotonic()
    assert phone.ask("act", **asked, held=True)["is"] == "ok"
    slot, (first, last) = spot["address"] + control["offset"][0] - 1, function["dmx"]

    def sent() -> list[float]:
        return [at for at, packet in server.sacn.sacn(2, before) if first <= packet[125 + slot] <= last]

    server.sacn.until(lambda: sent(), "the action")
    taken = [0.0]  # by the server to answer: for so long it had no turn to end it in

    def over() -> bool:
        asked = time.monotonic()
        phone.ask("signal", rtt_ms=None)
        taken.append(time.monotonic() - asked)
        return not first <= server.sacn.pictures(2)[-1][slot - 1] <= last

    server.sacn.until(over, "its end")
    assert sent()[-1] - sent()[0] < function["action"]["hold_s"] + 0.2 + max(taken)
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_house_staff_reach_house_fixtures_only(server: Server) -> None:
    phone = server.phone("house")
    assert "not a house fixture" in phone.ask("set", fixture="demo-21", values={"Dimmer": 1})["why"]
    assert "not a house fixture" in phone.ask("take", fixture="demo-21", over=True)["why"]
    assert phone.ask("set", fixture="demo-1", values={"Dimmer": 1})["is"] == "ok"
    for do, fields in (
        ("blackout", {"on": True}),
        ("master", {"value": 0}),
        ("slot", {"universe": 1, "slot": 500, "raw": 1}),
        ("act", {"fixture": "demo-21", "control": "x", "function": "x", "held": True}),
        ("run", {"fixture": "demo-1", "values": {}, "press": 1, "on": True}),
        ("arm", {"fixture": "demo-1", "reason": "no"}),
        ("going_dark", {}),
        ("lift_flashes", {"fixture": "demo-1"}),
    ):
        assert phone.ask(do, **fields)["why"].startswith("Only the ")
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


@pytest.mark.parametrize(
    ("do", "fields"),
    [
        ("set", {"fixture": "nobody", "values": {"Dimmer": 1}}),
        ("set", {"fixture": "demo-1", "values": {}}),
        ("set", {"fixture": "demo-1", "values": {"Pan": 1}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": 1.0001}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": -0.0001}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": None}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": True}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": "1"}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": []}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": {}}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": 10**400}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": {"raw": 256}}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": {"raw": -1}}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": {"raw": 1.5}}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": {"physical": 10**400}}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": {"physical": 1e9}}}),
        ("set", {"fixture": "demo-1", "values": {"Dimmer": {"range": "nothing"}}}),
        ("set", {"fixture": "demo-75", "values": {"Fog1": 1}}),
        ("light_up", {"fixture": "demo-75"}),
        ("take", {"fixture": "demo-76"}),
        ("slot", {"universe": 0, "slot": 1, "raw": 1}),
        ("slot", {"universe": 64000, "slot": 1, "raw": 1}),
        ("slot", {"universe": 1, "slot": 0, "raw": 1}),
        ("slot", {"universe": 1, "slot": 513, "raw": 1}),
        ("slot", {"universe": 1, "slot": 1, "raw": 256}),
        ("slot", {"universe": 1, "slot": 1, "raw": -1}),
        ("slot", {"universe": 10**30, "slot": 10**30, "raw": 10**30}),
        ("master", {"value": 1.1}),
        ("master", {"value": -0.1}),
        ("master", {"value": 10**400}),
        ("act", {"fixture": "demo-1", "control": "Dimmer", "function": "Dimmer", "held": True}),
        ("let_go", {"fixture": "nobody"}),
        ("hands_on", {"fixture": "nobody", "on": True}),
        ("explode", {}),
    ],
)
def test_what_cannot_be_is_refused_in_words_and_the_socket_stays_open(
    server: Server, do: str, fields: dict[str, Any]
) -> None:
    phone = server.phone("lead")
    refused = phone.ask(do, **fields)
    assert refused["is"] == "refused"
    assert refused["why"][-1] in ".?"
    assert len(refused["why"]) < 500
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


@pytest.mark.parametrize(
    "garbage",
    [
        "",
        "nonsense",
        "[]",
        "null",
        b"\x00\x01binary",
        '{"do":"set","fixture":"demo-1","values":{"Dimmer":NaN},"n":99}',
        '{"do":"master","value":NaN,"n":99}',
        '{"do":"take","fixture":"demo-1","n":"one"}',
        "[" * 60_000,
        "x" * 1_000_000,
        '{"do":"take","fixture":"' + "x" * 1_000_000 + '","n":1}',
    ],
    ids=lambda garbage: repr(garbage)[:20],
)
def test_garbage_is_refused_in_words_and_the_socket_stays_open(server: Server, garbage: str | bytes) -> None:
    phone = server.phone("lead")
    assert phone.say(garbage)["why"].endswith(".")
    assert phone.ask("let_go", fixture="*")["is"] == "ok"


def test_without_a_token_there_is_one_refusal_and_no_more(server: Server) -> None:
    for url in (_url(server, "guess"), _url(server, "").partition("?")[0]):
        with connect(url, proxy=None) as socket_:
            assert json.loads(socket_.recv())["is"] == "refused"
            with pytest.raises(ConnectionClosedError) as closed:
                socket_.recv()
            assert closed.value.rcvd is not None
            assert closed.value.rcvd.code == 4401


def test_what_is_no_websocket_request_is_answered_with_an_error(server: Server) -> None:
    with socket.create_connection(("127.0.0.1", server.port)) as raw:
        raw.sendall(b"GET /api/live HTTP/1.1\r\nHost: x\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\r\n")
        assert raw.recv(100).startswith(b"HTTP/1.1 4")


def test_a_slot_inside_a_fixture_acts_on_that_fixtures_control(server: Server) -> None:
    phone = server.phone()
    address = phone.rig["fixtures"]["demo-4"]["address"]
    assert phone.ask("slot", universe=1, slot=address, raw=51)["is"] == "ok"
    phone.until(lambda: phone.rig["fixtures"]["demo-4"]["values"]["Dimmer"] == 0.2)
    assert phone.rig["fixtures"]["demo-4"]["holder"] == phone.rig["you"]["id"]
    assert phone.ask("let_go", fixture="demo-4")["is"] == "ok"
