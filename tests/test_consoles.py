"""Joining beside a console, on the real path: a server that listens first, and somebody else's sender."""

import socket
from collections.abc import Iterator
from pathlib import Path
from time import monotonic
from uuid import UUID

import pytest

from tests.api.answers import given
from tests.consoles import CID, console, drive, driven
from tests.phones import Phone
from tests.servers import OPTIONS_AT, TERMINATED, Server, serving

__all__: list[str] = []

CID_AT, PRIORITY_AT = slice(22, 38), 108  # E1.31-2018, Table 4-1


@pytest.fixture
def waiting(tmp_path: Path) -> Iterator[tuple[Server, Phone]]:
    """A server that began while a console drove universe 1, and its lead."""
    with driven(tmp_path / "data", "--listen=1.5", priority=120) as (server, _):
        lead = server.phone("lead")
        lead.until(lambda: "join 1" in lead.rig["alerts"], "that a console drives universe 1")
        server.sacn.until(lambda: server.sacn.sacn(2), "universe 2, which nobody drives")
        yield server, lead


def test_a_universe_that_somebody_drives_waits_and_others_begin(waiting: tuple[Server, Phone]) -> None:
    server, lead = waiting
    asked = lead.rig["alerts"]["join 1"]["why"]
    assert asked.startswith("Front desk drives universe 1 (sACN, priority 120, since ")
    assert server.sacn.sacn(1) == []
    assert not any(packet[14] == 1 for _, packet in tuple(server.artnet.heard) if packet[8:10] == b"\0\x50")
    crew = server.phone("crew")
    assert crew.rig["alerts"]["waits"]["why"].startswith("Universe 1 waits: somebody else drives it")

    # The lead decides: as if nobody were there, then below it, then not at all.
    lead.ask("share", universe=1, join="alone")
    server.sacn.until(lambda: server.sacn.sacn(1), "universe 1")
    assert any(server.sacn.pictures(1)[0])  # the demo's baseline, whole from its first frame
    lead.until(lambda: "join 1" not in lead.rig["alerts"], "that it is settled")
    lead.ask("share", universe=1, join="below")
    server.sacn.until(
        lambda: server.sacn.sacn(1)[-1][1][PRIORITY_AT] == 119, "a priority below the console's"
    )
    lead.ask("share", universe=1, join="off")
    server.sacn.until(lambda: server.sacn.sacn(1)[-1][1][OPTIONS_AT] & TERMINATED, "the end of its stream")


def test_the_page_names_the_priority_that_leaves_also_for_an_output_with_its_own(
    waiting: tuple[Server, Phone],
) -> None:
    server, lead = waiting
    client = server.client()
    to = {"by": "sacn", "to": "host", "host": "127.0.0.1", "port": server.sacn.port, "priority": 150}
    given(client.put("/api/outputs/1", json={"outputs": [to]}))
    told = given(client.get("/api/beside", params={"universe": 1}))["universes"]
    foreseen = {way["join"]: way["following"][1]["why"] for one in told for way in one["ways"]}
    assert foreseen["above"].startswith("Ours: 150 is above 120.")
    assert "its 120 is above our 119." in foreseen["below"]
    for join, priority in (("above", 150), ("below", 119)):
        assert lead.ask("share", universe=1, join=join, follow=True)["is"] == "ok"

        def leaves(wanted: int = priority) -> bool:
            return any(packet[PRIORITY_AT] == wanted for _, packet in server.sacn.sacn(1)[-1:])

        server.sacn.until(leaves, f"priority {priority}")


def test_deaf_it_waits_until_it_can_listen_or_the_lead_says_how_to_join(tmp_path: Path) -> None:
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as other,
        serving(tmp_path / "data", "--listen=1", before=lambda it: other.bind(("", it.sacn_in))) as server,
    ):
        lead = server.phone("lead")
        lead.until(lambda: "sacn" in lead.rig["alerts"], "that the port is taken")
        assert "What has not begun waits until it is free" in lead.rig["alerts"]["sacn"]["why"]
        assert lead.ask("share", universe=1, join="alone")["is"] == "ok"
        server.sacn.until(lambda: server.sacn.sacn(1), "universe 1, as the lead said")
        told = given(server.client().get("/api/beside"))["universes"]
        assert [(one["where"], one["left_s"]) for one in told] == [("joined", 0), *[("listening", 0)] * 2]
        assert server.sacn.sacn(2) == server.sacn.sacn(3) == []
        other.close()
        free = monotonic()
        server.sacn.until(lambda: server.sacn.sacn(2) and server.sacn.sacn(3), "the others")
        assert server.sacn.sacn(2)[0][0] > free + 1  # listened to for a second
        lead.until(lambda: "sacn" not in lead.rig["alerts"], "that all can be heard")


def test_slots_off_limits_stay_a_console_s_that_ranks_below_us(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "settings.toml").write_text(
        '[[off_limits]]\nuniverse = 1\nfirst = 500\nlast = 512\nwhy = "house lights"\n'
    )
    with driven(tmp_path / "data", "--listen=1.5", priority=60) as (server, desk):
        lead = server.phone("lead")
        lead.until(lambda: "join 1" in lead.rig["alerts"], "that a console drives universe 1")
        assert lead.ask("share", universe=1, join="alone")["is"] == "ok"
        server.sacn.until(lambda: server.sacn.sacn(1), "universe 1")
        assert {packet[PRIORITY_AT] for _, packet in server.sacn.sacn(1)} == {60}
        desk.deactivate_output(1)
        server.sacn.until(lambda: server.sacn.sacn(1)[-1][1][PRIORITY_AT] == 100, "our own priority again")


def test_after_a_crash_of_the_web_side_what_is_sent_goes_on_and_what_waits_waits(
    waiting: tuple[Server, Phone],
) -> None:
    server, _ = waiting
    server.hang_up()
    server.kill()
    server.start()
    since = server.sacn.heard[-1][0]
    lead = server.phone("lead")
    server.sacn.until(lambda: len(server.sacn.sacn(2, since)) > 1, "universe 2 again")
    lead.until(lambda: "join 1" in lead.rig["alerts"], "that universe 1 waits")
    assert server.sacn.sacn(1) == []


def test_everybody_is_told_while_it_listens(tmp_path: Path) -> None:
    with serving(tmp_path / "data", "--listen=10") as server:
        crew = server.phone("crew")
        crew.until(lambda: "listening" in crew.rig["alerts"], "that it listens")
        assert crew.rig["alerts"]["listening"]["why"].startswith(
            "Listening on universe 1, 2, 3 before anything"
        )
        assert server.sacn.heard == []
        crew.until(lambda: "listening" not in crew.rig["alerts"], "that it is over")
        server.sacn.until(lambda: all(server.sacn.sacn(u) for u in (1, 2, 3)), "all universes")


def test_who_sends_as_this_laptop_is_heard_like_any_console_before_it_begins(tmp_path: Path) -> None:
    folder = tmp_path / "data" / "demo"
    folder.mkdir(parents=True)
    (folder / "cid").write_text(f"{CID}\n")
    with driven(tmp_path / "data", "--listen=10", priority=100, at="127.0.0.2") as (server, _):
        lead = server.phone("lead")
        lead.until(lambda: "twin" in lead.rig["alerts"], "that another machine sends as this one")
        assert "127.0.0.2 sends with the identity of this laptop" in lead.rig["alerts"]["twin"]["why"]
        assert "This laptop has one of its own now" in lead.rig["alerts"]["twin"]["why"]
        assert server.sacn.heard == []
        own = cid_of(server)
        assert own != CID
        told = server.client()

        def sources() -> list[str]:
            universes = given(told.get("/api/sources"))["universes"]
            return [one["id"] for universe in universes for one in universe["sources"]]

        server.sacn.until(lambda: str(CID) in sources(), "that it is a source")
        assert lead.ask("share", universe=2, join="alone")["is"] == "ok"
        server.sacn.until(lambda: server.sacn.sacn(2), "universe 2, as the lead said")
        assert {packet[CID_AT] for _, packet in server.sacn.sacn(2)} == {own.bytes}


def test_who_begins_to_send_as_this_laptop_does_is_told_of(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        server.sacn.until(lambda: server.sacn.sacn(1), "universe 1")
        lead, own = server.phone("lead"), cid_of(server)
        with console(server.sacn_in, cid=own, at="127.0.0.2") as desk:
            drive(desk, 1, (11, 22))
            lead.until(lambda: "twin" in lead.rig["alerts"], "that another machine sends as this one")
        assert "End one of the two programs" in lead.rig["alerts"]["twin"]["why"]
        lead.until(lambda: "twin" not in lead.rig["alerts"], "that it has ended")
        assert {packet[CID_AT] for _, packet in server.sacn.sacn(1)} == {own.bytes}
        assert cid_of(server) == own


def cid_of(server: Server) -> UUID:
    """The one kept in its data folder."""
    return UUID((server.data / "demo" / "cid").read_text().strip())
