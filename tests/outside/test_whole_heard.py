"""Consoles heard by a running server: one of the sacn package 1.11.0, one of the octets of Art-Net 4."""

import socket
from collections.abc import Iterator
from typing import Any

import pytest
from sacn import sACNsender

from server.wire import artnet
from tests.api.answers import given
from tests.consoles import CID, console, drive
from tests.phones import Phone
from tests.ports import free_port
from tests.servers import Server, serving

__all__: list[str] = []


SACN, ARTNET = free_port(), free_port()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """It also sends to itself, which must never look like somebody else."""
    ports = (f"--sacn-in-port={SACN}", f"--artnet-in-port={ARTNET}")
    to_itself = (f"--sacn-to=127.0.0.1:{SACN}", f"--artnet-to=127.0.0.1:{ARTNET}")
    with serving(tmp_path_factory.mktemp("heard") / "data", *ports, *to_itself) as server:
        yield server


@pytest.fixture
def desk() -> Iterator[sACNsender]:
    with console(SACN) as sender:
        yield sender


def sources(server: Server, universe: int) -> list[dict[str, Any]]:
    told = given(server.client().get("/api/sources"))
    return next((one["sources"] for one in told["universes"] if one["universe"] == universe), [])


def alarms(phone: Phone) -> list[str]:
    return [told["why"] for about, told in phone.rig["alerts"].items() if about.startswith("heard")]


def test_a_console_is_heard_compared_and_forgotten(server: Server, desk: sACNsender) -> None:
    lead = server.phone("lead")
    assert alarms(lead) == []
    drive(desk, 1, (255, 128))
    drive(desk, 2, (1,))
    lead.until(lambda: "universe 1, 2" in "".join(alarms(lead)), "that a console sends")
    assert alarms(lead) == [
        "Front desk also sends on universe 1, 2, with priority 100 like us: a node shows both, as a rule the "
        "higher level of each slot."
    ]
    (one,) = sources(server, 1)
    known = {key: one[key] for key in ("name", "protocol", "id", "address", "priority", "state", "wins")}
    assert known == {
        "name": "Front desk",
        "protocol": "sacn",
        "id": str(CID),
        "address": "127.0.0.1",
        "priority": 100,
        "state": "live",
        "wins": "both",
    }
    assert (one["slots"], one["late"]) == (512, 0)
    (heard,) = given(server.client("crew").get("/api/universes/1"))["heard"]
    assert (heard["name"], heard["priority"]) == ("Front desk", 100)
    assert given(server.client().get("/api/universes/3"))["heard"] == []

    drive(desk, 1, (255, 128), priority=150)
    lead.until(lambda: any("150, above our 100" in told for told in alarms(lead)), "that it wins there")
    desk[2].per_address_priority = (200, *([0] * 511))
    lead.until(lambda: any("a priority for each slot" in told for told in alarms(lead)), "that slots differ")
    server.sacn.until(lambda: sources(server, 2)[0]["slots"] == 1, "the one slot it drives")

    for universe in (1, 2):
        desk.deactivate_output(universe)
    lead.until(lambda: alarms(lead) == [], "that it is gone")
    assert [one["state"] for one in sources(server, 1)] == ["terminated"]


def test_the_questions_about_a_fault_know_of_a_console_that_is_heard(
    server: Server, desk: sACNsender
) -> None:
    crew, where = server.client("crew"), {"fixture": "demo-1", "symptom": "flickers", "answers": "nn"}
    quiet = given(crew.get("/api/faults/guide", params=where))
    assert quiet["question"]["why"] == "Does a console or another laptop send there too?"
    assert any("would not be heard" in one["why"] for one in quiet["unknown"])
    drive(desk, 1, (200,))
    server.sacn.until(lambda: any(one["state"] == "live" for one in sources(server, 1)), "the console")
    found = given(crew.get("/api/faults/guide", params=where))
    assert found["cause"]["why"].startswith("Two sources on one universe.")
    assert "Another source sends to its universe." in [one["why"] for one in found["known"]]
    desk.deactivate_output(1)
    server.sacn.until(lambda: all(one["state"] != "live" for one in sources(server, 1)), "its end")


def test_what_the_server_sends_itself_is_no_console(server: Server) -> None:
    told = given(server.client().get("/api/sources"))
    before = told["own"]
    assert told["priority"] == 100
    client = server.client()
    # Three universes by both protocols, each about once a second (E1.31-2018, 6.6.2).
    server.sacn.until(lambda: given(client.get("/api/sources"))["own"] >= before + 6, "its own packets")
    here = {
        (one["address"], one["id"]) for u in (1, 2, 3) for one in sources(server, u) if one["state"] == "live"
    }
    assert here == set()


def test_art_net_is_heard_on_the_port_of_the_nodes(server: Server) -> None:
    lead = server.phone("lead")
    packet = artnet.dmx_packet(1)
    packet[18] = 77
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as other:
        other.bind(("127.0.0.2", 0))
        other.sendto(packet, ("127.0.0.1", ARTNET))
        lead.until(lambda: alarms(lead), "that somebody sends by Art-Net")
        assert alarms(lead)[0].startswith(
            "127.0.0.2 also sends on universe 1, by Art-Net, which has no priority"
        )
        (one,) = [one for one in sources(server, 1) if one["protocol"] == "artnet"]
    assert (one["id"], one["priority"], one["wins"], one["slots"]) == ("127.0.0.2/0", None, "both", 512)


def test_what_is_no_packet_is_counted_by_sender_and_reason(server: Server) -> None:
    client = server.client()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as stranger:
        stranger.bind(("127.0.0.3", 0))
        for _ in range(2):
            stranger.sendto(b"junk", ("127.0.0.1", SACN))
        stranger.sendto(b"junk", ("127.0.0.1", ARTNET))

    def refused() -> dict[str, int]:
        told = given(client.get("/api/sources"))["refused"]
        return {one["why"]: one["count"] for one in told if one["address"] == "127.0.0.3"}

    server.sacn.until(lambda: refused() == {"ends before octet 44": 2, "not Art-Net": 1}, "the counts")
