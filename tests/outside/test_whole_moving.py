"""A universe that is being sent and is to go by another number: what leaves, beside somebody else's sender.

The console's packets are built by the sacn package.
"""

import os
import signal
from collections.abc import Iterator
from pathlib import Path
from time import monotonic
from typing import Any

import pytest

from tests.api.answers import given
from tests.consoles import Desk, console, crowd, drive
from tests.phones import Phone
from tests.servers import OPTIONS_AT, SLOTS_AT, TERMINATED, Server, serving

__all__: list[str] = []

LISTEN_S = 1.0
PRIORITY_AT = 108  # E1.31-2018, Table 4-1
LEVELS = tuple(range(1, 201))


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, Phone]]:
    data = tmp_path_factory.mktemp("moving") / "data"
    with serving(Path(data), f"--listen={LISTEN_S:g}") as server:
        server.sacn.until(lambda: server.sacn.sacn(1), "universe 1")
        yield server, server.phone("lead")


def move(server: Server, *numbers: int) -> float:
    """Let universe 1 go by these; returns when that was asked."""
    port = server.sacn.port
    wanted = [
        {"by": "sacn", "to": "host", "host": "127.0.0.1", "port": port, "number": number}
        for number in numbers
    ]
    since = monotonic()
    given(server.client().put("/api/outputs/1", json={"outputs": wanted}))
    return since


def ends(server: Server, number: int, since: float = 0.0) -> list[float]:
    """When packets left that end a stream (E1.31-2018, 6.2.6)."""
    return [at for at, packet in server.sacn.sacn(number, since) if packet[OPTIONS_AT] & TERMINATED]


def beside(server: Server) -> dict[str, Any]:
    answer = given(server.client().get("/api/beside", params={"universe": 1}))["universes"]
    return next(one for one in answer if one["universe"] == 1)


def test_a_new_number_is_listened_to_while_the_old_one_goes_on_whole(place: tuple[Server, Phone]) -> None:
    server, lead = place
    picture = server.sacn.pictures(1)[-1]
    client, port = server.client(), server.sacn.port
    outputs = [{"by": "sacn", "to": "host", "host": "127.0.0.1", "port": port, "number": 101}]
    foreseen = given(client.post("/api/outputs/1/check", json={"outputs": outputs}))
    assert foreseen["listens"]["why"].startswith("sACN 101 is new for this universe: it is listened to for 1")
    since = move(server, 101)
    lead.until(lambda: "move 1" in lead.rig["alerts"], "that it listens")
    assert "is to leave as sACN 101" in lead.rig["alerts"]["move 1"]["why"]
    server.sacn.until(lambda: ends(server, 1), "the end under the old number")
    first = server.sacn.sacn(101)[0][0]
    assert first - since >= LISTEN_S
    assert ends(server, 1)[0] > since + LISTEN_S
    old = [at for at, _ in server.sacn.sacn(1, since)]
    # It went on, each packet within the time that a receiver waits (6.7.1).
    assert max(b - a for a, b in zip([since, *old], [*old, first], strict=True)) < 2.5
    assert set(server.sacn.pictures(101)) == {picture}
    assert server.sacn.sacn(101)[0][1][OPTIONS_AT] & TERMINATED == 0


def test_where_somebody_drives_it_nothing_leaves_there_until_the_lead_says_how(
    place: tuple[Server, Phone],
) -> None:
    server, lead = place
    picture = server.sacn.pictures(101)[-1]
    with console(server.sacn_in) as desk:
        drive(desk, 102, LEVELS, priority=120)
        since = move(server, 101, 102)
        lead.until(lambda: "join 1" in lead.rig["alerts"], "that it waits")
        asked = lead.rig["alerts"]["join 1"]["why"]
        assert asked.startswith("Front desk drives sACN 102 (sACN, priority 120, since ")
        assert asked.endswith("All of it goes on as before until you say how to join.")
        told = beside(server)
        assert (told["where"], told["move"]["where"]) == ("joined", "waiting")
        assert [(one["name"], one["number"]) for one in told["heard"]] == [("Front desk", 102)]
        above = next(way for way in told["ways"] if way["join"] == "above")
        assert above["following"][0]["why"].startswith("Ours: 121 is above 120.")

        # The web side is killed meanwhile, and comes back: nothing changes.
        server.hang_up()
        server.kill()
        server.start()
        lead = server.phone("lead")
        lead.until(lambda: "join 1" in lead.rig["alerts"], "that it waits again")
        findings = given(server.client().get("/api/outputs"))["universes"][0]["findings"]
        assert "sACN 102" in findings[0]["why"]
        server.sacn.until(lambda: server.sacn.sacn(101, since + 2 * LISTEN_S), "the number it has")
        assert server.sacn.sacn(102) == []
        assert ends(server, 101) == []
        assert set(server.sacn.pictures(101, since)) == {picture}

        lead.ask("share", universe=1, join="above", follow=True)
        server.sacn.until(lambda: server.sacn.sacn(102), "the new number")
        first = server.sacn.sacn(102)[0][1]
        assert first[PRIORITY_AT] == 121
        assert first[SLOTS_AT : SLOTS_AT + len(LEVELS)] == bytes(LEVELS)
        lead.until(lambda: "join 1" not in lead.rig["alerts"], "that it is settled")
        assert ends(server, 101) == []


def test_what_was_decided_beside_one_console_is_not_for_the_next_and_may_be_taken_back(
    place: tuple[Server, Phone],
) -> None:
    server, _ = place
    lead = server.phone("lead")
    with console(server.sacn_in) as desk:
        drive(desk, 103, LEVELS, priority=150)
        since = move(server, 102, 103)
        lead.until(lambda: "join 1" in lead.rig["alerts"], "that it waits")
        server.sacn.until(lambda: ends(server, 101, since) or server.sacn.sacn(101, since + 2), "it goes on")
        assert ends(server, 101, since) == []
        assert server.sacn.sacn(103) == []
        assert {packet[PRIORITY_AT] for _, packet in server.sacn.sacn(102, since)} <= {100, 121}
        move(server, 101, 102)
        lead.until(lambda: "join 1" not in lead.rig["alerts"], "that nothing waits")
        assert server.sacn.sacn(103) == []


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
def test_a_server_that_stood_still_while_it_listened_reads_who_is_there_before_it_begins(
    place: tuple[Server, Phone],
) -> None:
    server, _ = place
    lead = server.phone("lead")

    def settled() -> bool:
        return not {"join 1", "move 1"} & lead.rig["alerts"].keys()

    for number in range(110, 130):
        since = move(server, 101, 102, number)
        lead.until(lambda: not settled(), "that it listens")
        os.kill(server.pid, signal.SIGSTOP)
        in_time = monotonic() - since < LISTEN_S  # else this test was held up: the next number
        with Desk(number, (server.sacn_in,)) as desk:
            try:
                server.sacn.until(lambda desk=desk: len(desk.sent) > 60, "longer than it listens")  # type: ignore[misc]
            finally:
                os.kill(server.pid, signal.SIGCONT)
            if in_time:
                lead.until(lambda: "join 1" in lead.rig["alerts"], "that it waits")
                assert server.sacn.sacn(number) == []
            move(server, 101, 102)
            lead.until(settled, "that nothing waits")
        if in_time:
            break


def test_a_fixture_on_a_universe_never_sent_before_waits_too(
    place: tuple[Server, Phone],
) -> None:
    server, _ = place
    lead, client = server.phone("lead"), server.client()
    units = given(client.get("/api/fixtures"))
    kind = next(one for one in units if one["id"] == "demo-1")
    with console(server.sacn_in) as desk:
        drive(desk, 50, LEVELS, priority=100)
        new = {"channel": 950, "profile": kind["profile"], "mode": kind["mode"], "universe": 50, "address": 1}
        given(client.post("/api/fixtures", json=new), 201)
        lead.until(lambda: "join 1" in lead.rig["alerts"], "that it waits")
        assert lead.rig["alerts"]["join 1"]["why"].startswith(
            "Front desk drives universe 50 (sACN, priority "
        )
        assert server.sacn.sacn(50) == []


def test_a_port_address_that_somebody_sends_to_waits_as_well(place: tuple[Server, Phone]) -> None:
    server, _ = place
    lead = server.phone("lead")

    def dmx(number: int) -> list[bytes]:
        """ArtDmx of that Port-Address (Art-Net 4, ArtDmx: SubUni and Net)."""
        head = b"Art-Net\0\0\x50"
        heard = [packet for _, packet in tuple(server.artnet.heard)]
        return [packet for packet in heard if packet.startswith(head) and packet[14:16] == bytes([number, 0])]

    to = {"by": "artnet", "to": "host", "host": "127.0.0.1", "port": server.artnet.port}
    with Desk(9, artnet=(server.artnet_in,)) as desk:
        server.sacn.until(lambda: len(desk.sent) > 1, "a console by Art-Net")
        given(server.client().put("/api/outputs/2", json={"outputs": [{**to, "number": 9}]}))
        lead.until(lambda: "drives Art-Net 9" in str(lead.rig["alerts"]), "that it waits")
        mark, frames = len(dmx(2)), len(desk.sent)
        server.sacn.until(lambda: len(dmx(2)) > mark + 1 and len(desk.sent) > frames + 88, "it goes on")
        assert dmx(9) == []
        lead.ask("share", universe=2, join="alone")
        server.sacn.until(lambda: dmx(9), "the new number")
        assert dmx(9)[0][18:] == dmx(2)[-1][18:]


def test_more_senders_than_are_kept_account_of_are_told_and_the_lead_decides_all_the_same(
    place: tuple[Server, Phone],
) -> None:
    server, _ = place
    lead, client, port = server.phone("lead"), server.client(), server.sacn.port
    to = {"by": "sacn", "to": "host", "host": "127.0.0.1", "port": port, "number": 105}
    with crowd(server.sacn_in, 3, range(105, 115)), crowd(server.sacn_in, 105, range(60, 75)):
        told = "More than 16 sources send on the numbers that universe 3 has and is to have"
        given(client.put("/api/outputs/3", json={"outputs": [to]}))
        lead.until(lambda: told in str(lead.rig["alerts"]), "that they are too many")
        lead.until(lambda: "drives sACN 105" in str(lead.rig["alerts"]), "that somebody drives it")
        (three,) = [one for one in given(client.get("/api/beside"))["universes"] if one["universe"] == 3]
        assert three["crowd"]["why"].startswith(told)
        assert server.sacn.sacn(105) == []
        lead.ask("share", universe=3, join="above", follow=True)
        server.sacn.until(lambda: server.sacn.sacn(105), "the new number")
        first = server.sacn.sacn(105)[0][1]
        assert (first[PRIORITY_AT], set(first[SLOTS_AT:])) == (115, {114})  # by the one that ranks highest
        lead.until(lambda: told not in str(lead.rig["alerts"]), "that it is settled")
