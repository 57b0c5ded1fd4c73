"""Nodes over HTTP and as alerts: nodes on loopback, and what becomes of them."""

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.api.answers import given, problem
from tests.nodes import FAST_POLLS, fleet, reply
from tests.servers import ENOUGH_S, QUICK_PINS, serving

__all__: list[str] = []


def _until(true: Callable[[], object], why: Callable[[], object]) -> None:
    deadline = time.monotonic() + ENOUGH_S
    while not true():
        assert time.monotonic() < deadline, why()
        time.sleep(0.02)


def test_nodes_are_listed_with_their_ports_told_of_and_lost(tmp_path: Path) -> None:
    with serving(tmp_path / "data", first=f"{QUICK_PINS}\n{FAST_POLLS}") as server:
        crew, lead = server.client("crew"), server.client("lead")
        phone = server.phone("lead")

        def told() -> dict[str, Any]:
            return given(crew.get("/api/nodes"))  # type: ignore[no-any-return]

        def names() -> list[tuple[str, bool]]:
            return [(one["name"], one["lost"]) for one in told()["nodes"]]

        merging = reply("Bar 3", 1, 3, mac=7, good_output=b"\x80\x88\0\0", status3=0x60)
        with fleet(server.artnet_in, at_7=[merging], at_8=[reply("Floor", 3, 9, mac=8)]) as nodes:
            _until(lambda: len(names()) == 2, told)
            bar, floor = told()["nodes"]
            assert (bar["host"], bar["mac"], bar["firmware"], bar["failsafe"]) == (
                *("127.0.0.7", "02:00:00:00:00:07"),
                *("1.2", "zero"),
            )
            ports = [(p["port_address"], p["universe"], p["merges"]) for p in bar["ports"]]
            assert ports == [(1, 1, False), (3, 3, True)]
            assert floor["ports"][1]["universe"] is None, "no universe of ours"
            # Universe 2 goes by two numbers, and both are known as its.
            one = {"by": "artnet", "to": "host", "host": "127.0.0.1", "port": server.artnet.port}
            two = {"outputs": [one, one | {"number": 9}]}
            given(lead.put("/api/outputs/2", json=two))
            assert told()["nodes"][1]["ports"][1]["universe"] == 2
            given(lead.put("/api/outputs/2", json={"outputs": []}))
            assert not told()["asked"], "machines are given by hand"
            phone.until(lambda: "node 1" in phone.rig["alerts"], "that one merges")
            assert "hears somebody else on universe 3" in phone.rig["alerts"]["node 1"]["why"]

            nodes.pages["127.0.0.7"].append(reply("Twin", 1, mac=9))
            phone.until(
                lambda: "Two nodes have the address 127.0.0.7" in str(phone.rig["alerts"].get("node 1")),
                "two with one address",
            )
            problem(lead.delete("/api/nodes/127.0.0.7"), 404)
            del nodes.pages["127.0.0.7"]
            _until(lambda: names().count(("Bar 3", True)), told)
            why = [one["why"] for one in told()["findings"] if one["hosts"] == ["127.0.0.7"]]
            assert any("Bar 3 (127.0.0.7) has not answered since" in each for each in why)
            _until(lambda: ("Twin", True) in names(), told)
            problem(crew.delete("/api/nodes/127.0.0.7"), 403)
            assert lead.delete("/api/nodes/127.0.0.7").status_code == 204
            _until(lambda: names() == [("Floor", False)], told)
            phone.until(lambda: "node 1" not in phone.rig["alerts"], "nothing more to tell")
