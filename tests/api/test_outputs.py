"""Where universes go, over HTTP; and what is really sent while it is edited."""

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.api.answers import given, problem
from tests.consoles import console, drive
from tests.servers import (
    OPTIONS_AT,
    QUICK_PINS,
    SEQUENCE_AT,
    TERMINATED,
    UNIVERSE_AT,
    Ear,
    Server,
    serving,
)

__all__: list[str] = []

PRIORITY_AT = 108  # E1.31-2018, Table 4-1: Priority
PORT_ADDRESS_AT = 14  # Art-Net 4, ArtDmx: SubUni, Net


@pytest.fixture
def ear() -> Iterator[Ear]:
    """Somewhere else than where levels usually go."""
    made = Ear()
    yield made
    made.close()


def outputs(server: Server) -> dict[int, Any]:
    told = given(server.client("crew").get("/api/outputs"))
    return {one["universe"]: one for one in told["universes"]}


def sacn(port: int, **more: object) -> dict[str, object]:
    return {"by": "sacn", "to": "host", "host": "127.0.0.1", "port": port, **more}


def test_everybody_sees_where_universes_go_and_the_lead_changes_it(server: Server, ear: Ear) -> None:
    crew, lead = server.client("crew"), server.client("lead")
    told = given(crew.get("/api/outputs"))
    assert {"address": "127.0.0.1", "name": "lo", "main": True} in told["interfaces"]
    first = outputs(server)[1]
    assert (first["own"], first["steady"], len(first["outputs"])) == (False, False, 2)
    assert [one["why"] for one in first["outputs"]] == [
        f"sACN 1 to 127.0.0.1:{server.sacn.port}, priority 100",
        f"Art-Net 1 (0:0:1) to 127.0.0.1:{server.artnet.port}",
    ]
    own = {"outputs": [sacn(ear.port, number=700, priority=120, name="Spare")], "steady": True}
    for way, path in (("put", "/api/outputs/1"), ("post", "/api/outputs/1/check")):
        problem(crew.request(way, path, json=own), 403)
    checked = given(lead.post("/api/outputs/1/check", json=own))
    assert (checked["changes"], len(checked["begins"]), len(checked["ends"])) == (True, 1, 2)
    assert checked["begins"][0]["why"] == f"Spare: sACN 700 to 127.0.0.1:{ear.port}, priority 120"
    assert not outputs(server)[1]["own"], "checking changes nothing"

    changed = given(lead.put("/api/outputs/1", json=own))
    assert (changed["own"], changed["steady"], changed["outputs"][0]["on_wire"]) == (True, True, 700)
    ear.until(lambda: ear.sacn(700), "levels of universe 1 as universe 700")
    assert ear.sacn(700)[0][1][PRIORITY_AT] == 120
    server.sacn.until(
        lambda: any(packet[OPTIONS_AT] & TERMINATED for _, packet in server.sacn.sacn(1)), "the end there"
    )
    (change,) = [one for one in given(lead.get("/api/changes")) if "Universe 1 goes" in one["what"]][:1]
    assert change["what"] == "Universe 1 goes: sACN to 127.0.0.1 as 700."
    assert given(lead.put("/api/outputs/1", json={"outputs": [], "steady": None}))["own"] is False
    ear.until(lambda: any(packet[OPTIONS_AT] & TERMINATED for _, packet in ear.sacn(700)), "its end there")


def test_what_cannot_be_sent_is_refused_in_a_sentence(server: Server) -> None:
    lead = server.client("lead")
    usual = sacn(server.sacn.port)
    for output, words in (
        (usual | {"number": 1}, "Universe 1 goes there already, as 1"),
        (usual | {"priority": 201}, "Priorities of sACN go from 0 to 200"),
        (usual | {"interface": "10.9.9.9"}, "no network with the address 10.9.9.9"),
        (usual | {"host": "127.255.255.255"}, "everybody on the network (127.255.255.255)"),
        (usual | {"host": "here"}, "Write an address like"),
    ):
        for way, path in (("put", "/api/outputs/3"), ("post", "/api/outputs/3/check")):
            assert words in problem(lead.request(way, path, json={"outputs": [output]}), 422)
    assert "from 1 to 63999" in problem(
        lead.put("/api/outputs/sync", json={"sacn": 64000, "artnet": False}), 422
    )
    assert "0 to 10 ms, not 11." in problem(
        lead.put("/api/outputs/sync", json={"sacn": 7, "artnet": False, "pause_ms": 11}), 422
    )
    assert not outputs(server)[3]["own"]


def test_a_universe_may_go_by_art_net_under_another_number(server: Server, ear: Ear) -> None:
    lead = server.client("lead")
    output = {"by": "artnet", "to": "host", "host": "127.0.0.1", "port": ear.port, "number": 4660}
    told = given(lead.put("/api/outputs/3", json={"outputs": [output, sacn(server.sacn.port)]}))
    assert told["outputs"][0]["why"] == f"Art-Net 4660 (18:3:4) to 127.0.0.1:{ear.port}"
    ear.until(
        lambda: any(packet[PORT_ADDRESS_AT : PORT_ADDRESS_AT + 2] == b"\x34\x12" for _, packet in ear.heard),
        "universe 3 as Port-Address 4660",
    )
    given(lead.put("/api/outputs/3", json={"outputs": []}))


def test_the_main_interface_is_the_main_one_also_by_its_address(server: Server) -> None:
    lead = server.client("lead")
    own = sacn(server.sacn.port, interface="127.0.0.1")
    told = given(lead.post("/api/outputs/3/check", json={"outputs": [own]}))
    assert told["stays"][0]["interface"] == ""


def test_broadcast_and_nodes_nobody_answers_for_are_said(server: Server) -> None:
    lead = server.client("lead")
    wanted = [{"by": "artnet", "to": "nodes", "number": 77}]
    told = given(lead.put("/api/outputs/3", json={"outputs": wanted}))
    assert [one["why"] for one in told["findings"]] == [
        "No node that answers serves Art-Net 77 now: nothing leaves by Art-Net there."
    ]
    given(lead.put("/api/outputs/3", json={"outputs": []}))


def test_synchronisation_reaches_the_wire_and_goes_again(server: Server) -> None:
    lead = server.client("lead")
    told = given(lead.put("/api/outputs/sync", json={"sacn": 7962, "artnet": False}))
    assert told["sync"] == {"sacn": 7962, "artnet": False, "pause_ms": None}
    assert told["usual_pause_ms"] == 1
    assert "wait for it" in told["findings"][-1]["why"]
    # E1.31-2018, 6.2.4: the Synchronization Address of data packets, octets 109 and 110.
    wanted = (7962).to_bytes(2, "big")
    server.sacn.until(
        lambda: any(packet[109:111] == wanted for _, packet in server.sacn.sacn(1)), "that it is on"
    )
    # A universe of levels is no good place for it, by whatever number those go.
    given(lead.put("/api/outputs/3", json={"outputs": [sacn(server.sacn.port, number=700)]}))
    for number, universe in ((1, 1), (700, 3), (3, 0)):
        told = given(lead.put("/api/outputs/sync", json={"sacn": number, "artnet": False}))
        why = f"sACN {number}, which carries the levels of universe {universe}, too: choose a number"
        assert (why in str(told["findings"])) == bool(universe)
    given(lead.put("/api/outputs/3", json={"outputs": []}))
    told = given(lead.put("/api/outputs/sync", json={"sacn": 0, "artnet": False}))
    assert told["findings"] == []


def test_a_console_is_heard_by_the_number_that_a_universe_goes_by(server: Server) -> None:
    lead, crew = server.client("lead"), server.phone("lead")
    given(lead.put("/api/outputs/3", json={"outputs": [sacn(server.sacn.port, number=700, priority=130)]}))
    with console(server.sacn_in) as desk:
        drive(desk, 700, (7,), priority=120)
        drive(desk, 2, (7,), priority=120)
        crew.until(
            lambda: {"heard 1", "heard 2"} <= crew.rig["alerts"].keys(), "that a console drives 2 and 3"
        )
        told = {crew.rig["alerts"][f"heard {at}"]["why"] for at in (1, 2)}
        assert any("universe 2, with priority 120, above our 100" in each for each in told)
        assert any("universe 3, with priority 120, below our 130" in each for each in told)
    given(lead.put("/api/outputs/3", json={"outputs": []}))


def test_editing_one_universe_leaves_no_gap_in_another(tmp_path: Path) -> None:
    """Universe 1 is sent all the time, and is looked at packet by packet while 3 goes here and there."""
    data, ear = tmp_path / "data", Ear()
    data.mkdir()
    (data / "settings.toml").write_text("steady = [1]\n")
    try:
        with serving(data, first=QUICK_PINS) as server:
            lead = server.client("lead")
            server.sacn.until(lambda: len(server.sacn.sacn(1)) > 20, "universe 1")
            begun = len(server.sacn.sacn(1))
            for number in range(12):
                own = [sacn(ear.port, number=700 + number, most_hz=11.0 * (1 + number % 4))]
                own += [sacn(server.sacn.port)] if number % 2 else []
                given(lead.put("/api/outputs/3", json={"outputs": own, "steady": number % 3 == 0}))
                ear.until(lambda: ear.sacn(700 + number), "universe 3")  # noqa: B023 - waited for at once
            given(lead.put("/api/outputs/3", json={"outputs": []}))
            there = len(server.sacn.sacn(1))
            server.sacn.until(lambda: len(server.sacn.sacn(1)) > there + 20, "universe 1 afterwards")
            packets = server.sacn.sacn(1)[begun - 1 :]
            numbers = [packet[SEQUENCE_AT] for _, packet in packets]
            # E1.31-2018, 6.7.2: each packet of a universe is one on from the one before.
            assert [(one + 1) % 256 for one in numbers[:-1]] == numbers[1:]
            assert not any(packet[OPTIONS_AT] & TERMINATED for _, packet in packets)
            assert {bytes(packet[UNIVERSE_AT : UNIVERSE_AT + 2]) for _, packet in packets} == {b"\0\1"}
            # A receiver takes a source for lost after 2.5 s (6.7.1, network data loss).
            assert max(after - before for (before, _), (after, _) in pairwise(packets)) < 2.5
    finally:
        ear.close()


def test_routes_outlast_a_restart(tmp_path: Path) -> None:
    ear = Ear()
    try:
        with serving(tmp_path / "data", first=QUICK_PINS) as server:
            lead = server.client("lead")
            given(lead.put("/api/outputs/3", json={"outputs": [sacn(ear.port, number=701)]}))
            server.kill()
            server.kill_output()
            before = len(ear.heard)
            server.start()
            ear.until(
                lambda: any(
                    p[UNIVERSE_AT : UNIVERSE_AT + 2] == (701).to_bytes(2, "big")
                    for _, p in ear.heard[before:]
                ),
                "universe 3 there again",
            )
            server.kill()
    finally:
        ear.close()
