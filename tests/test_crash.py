"""Whatever becomes of the server, the light stays and nothing acknowledged is lost: on real processes."""

import os
import signal
import sqlite3
import subprocess
import time
from collections.abc import Iterator
from contextlib import closing, suppress
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest
from websockets.exceptions import ConnectionClosed

from server.places import package_folder
from tests.phones import Phone
from tests.servers import ENOUGH_S, OPTIONS_AT, SEQUENCE_AT, SLOTS_AT, TERMINATED, Server, serving

__all__: list[str] = []

UNIVERSES = (1, 2, 3)
POSIX = pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path / "data") as server:
        yield server


def _until_all_sent(server: Server, since: float) -> None:
    server.sacn.until(lambda: all(server.sacn.sacn(u, since) for u in UNIVERSES), "each universe again")


def _drag_until_killed(server: Server, phone: Phone, fixture: str) -> int:
    """Drag a fader upwards and kill the server on the way; returns the last raw value acknowledged."""
    raw_of: dict[int, int] = {}
    for raw in range(60, 190):
        raw_of[phone.send("set", fixture=fixture, values={"Dimmer": {"raw": raw}})] = raw
        phone.listen(0.004)
    phone.until(lambda: sum(m["is"] == "ok" for m in phone.heard) > 20, "some that are kept")
    server.kill()
    with suppress(ConnectionClosed):
        while phone.listen(ENOUGH_S):
            pass
    kept = [raw_of[m["n"]] for m in phone.heard if m["is"] == "ok" and m["n"] in raw_of]
    return max(kept)


def _assert_no_gap(server: Server) -> None:
    """Sequence numbers count on (E1.31-2018, 6.7.2), and no picture is all dark."""
    for universe in UNIVERSES:
        packets = [packet for _, packet in server.sacn.sacn(universe)]
        numbers = [packet[SEQUENCE_AT] for packet in packets]
        assert all((later - earlier) % 256 == 1 for earlier, later in pairwise(numbers))
        assert all(any(packet[SLOTS_AT:]) for packet in packets)


def test_killed_in_a_drag_the_light_stays_and_the_next_start_goes_on(server: Server) -> None:
    phone = server.phone("crew", "Mo")
    token = phone.token
    slot = phone.rig["fixtures"]["demo-1"]["address"]
    kept = _drag_until_killed(server, phone, "demo-1")
    dead = time.monotonic()
    server.sacn.until(lambda: len(server.sacn.pictures(1, dead)) >= 2, "packets of a dead server")
    held = server.sacn.pictures(1)[-1]
    # The frame with the last steps may have been a few ms from leaving; they are kept all the same.
    assert held[slot - 1] >= kept - 10
    server.start()
    back = server.phone_with(token)
    value = round(back.rig["fixtures"]["demo-1"]["values"]["Dimmer"] * 255)
    assert value >= kept
    assert back.rig["fixtures"]["demo-1"]["holder"] == back.rig["you"]["id"]
    server.sacn.until_slot(1, slot, value)
    now = server.sacn.pictures(1)[-1]
    assert [at for at in range(512) if now[at] != held[at] and at != slot - 1] == []
    assert back.ask("set", fixture="demo-1", values={"Dimmer": {"raw": 250}})["is"] == "ok"
    server.sacn.until_slot(1, slot, 250)
    _assert_no_gap(server)
    for universe in UNIVERSES:
        times = [at for at, _ in server.sacn.sacn(universe)]
        # 6.7.1: after 2.5 s it would count as lost.
        assert max(later - earlier for earlier, later in pairwise(times)) < 2.5


def test_killed_both_the_next_start_shows_the_last_picture_first(server: Server) -> None:
    phone = server.phone("crew")
    assert phone.ask("set", fixture="demo-2", values={"Dimmer": {"raw": 123}})["is"] == "ok"
    server.sacn.until_slot(1, phone.rig["fixtures"]["demo-2"]["address"], 123)
    server.hang_up()
    server.kill()
    server.kill_output()
    held, dead = {u: server.sacn.pictures(u)[-1] for u in UNIVERSES}, time.monotonic()
    server.start()
    _until_all_sent(server, dead)
    assert {u: server.sacn.pictures(u, dead)[0] for u in UNIVERSES} == held
    _assert_no_gap(server)


@POSIX
def test_killed_at_any_moment_again_and_again_the_wire_shows_what_was_acknowledged(server: Server) -> None:
    chance = Random(3)
    token = server.phone("crew", "Mo").token
    for both in (False, True, False):
        phone = server.phone_with(token)
        before = raw = round(phone.rig["fixtures"]["demo-1"]["values"]["Dimmer"] * 255)
        asked: dict[int, tuple[int, int]] = {}
        deadline = time.monotonic() + chance.uniform(0.05, 0.8)
        while time.monotonic() < deadline:
            raw = (raw + 1) % 256
            n = phone.send("set", fixture="demo-1", values={"Dimmer": {"raw": raw}})
            asked[n] = (len(asked), raw)
            phone.listen(0.003)
        server.kill()
        if both:
            server.kill_output()
        with suppress(ConnectionClosed):
            while phone.listen(ENOUGH_S):
                pass
        kept = max([asked[m["n"]] for m in phone.heard if m["is"] == "ok" and m["n"] in asked], default=None)
        held, dead = {u: server.sacn.pictures(u)[-1] for u in UNIVERSES}, time.monotonic()
        server.hang_up()
        server.start()
        back = server.phone_with(token)
        value = round(back.rig["fixtures"]["demo-1"]["values"]["Dimmer"] * 255)
        may_be = [each for at, each in asked.values() if kept is None or at >= kept[0]]
        assert value in (may_be if kept else [before, *may_be])
        slot = back.rig["fixtures"]["demo-1"]["address"]
        server.sacn.until_slot(1, slot, value)
        _until_all_sent(server, dead)
        for universe in UNIVERSES:
            for picture in server.sacn.pictures(universe, dead):
                differ = {at + 1 for at in range(512) if picture[at] != held[universe][at]}
                assert differ <= ({slot} if universe == 1 else set())
    _assert_no_gap(server)


@POSIX
def test_a_blocked_server_holds_up_no_packet(server: Server) -> None:
    _until_all_sent(server, 0)
    os.kill(server.pid, signal.SIGSTOP)
    stopped = time.monotonic()
    try:
        server.sacn.until(
            lambda: all(len(server.sacn.sacn(u, stopped)) >= 3 for u in UNIVERSES), "keep-alives"
        )
    finally:
        os.kill(server.pid, signal.SIGCONT)
    # E1.31-2018, 6.6.2: an unchanging universe is sent each 0.8 to 1.0 s; three are heard within 2.7 s or so.
    assert max(server.sacn.sacn(universe, stopped)[2][0] for universe in UNIVERSES) - stopped < 6
    assert server.client(None).get("/api/health").json()["status"] == "ok"


@pytest.mark.parametrize("how", ["SIGINT", pytest.param("SIGTERM", marks=POSIX)])
def test_ended_in_order_the_streams_end_and_the_next_start_shows_the_kept_picture_first(
    server: Server, how: str
) -> None:
    phone = server.phone("crew")
    assert phone.ask("set", fixture="demo-2", values={"Dimmer": {"raw": 99}})["is"] == "ok"
    assert phone.ask("slot", universe=7, slot=3, raw=33)["is"] == "ok"
    server.sacn.until_slot(7, 3, 33)
    code = server.interrupt() if how == "SIGINT" else server.signal(signal.SIGTERM)
    assert code == 0
    assert "Traceback" not in server.log()
    assert not server.output_lives()

    def ended(universe: int) -> list[bool]:
        return [bool(packet[OPTIONS_AT] & TERMINATED) for _, packet in server.sacn.sacn(universe)]

    server.sacn.until(lambda: all(sum(ended(u)) == 3 for u in (*UNIVERSES, 7)), "the end")
    for universe in (*UNIVERSES, 7):
        assert ended(universe)[-4:] == [False, True, True, True]
    held, dead = {u: server.sacn.pictures(u)[-1] for u in (*UNIVERSES, 7)}, time.monotonic()
    server.start()
    server.sacn.until(lambda: all(server.sacn.sacn(u, dead) for u in held), "each universe again")
    assert {u: server.sacn.pictures(u, dead)[0] for u in held} == held


def test_a_second_server_on_the_same_show_is_refused_and_the_first_goes_on(server: Server) -> None:
    other = Server(server.data)
    refused = subprocess.run(
        other.command,
        cwd=package_folder().parent,
        capture_output=True,
        text=True,
        timeout=ENOUGH_S,
        check=False,
    )
    other.sacn.close()
    other.artnet.close()
    assert refused.returncode == 2
    assert refused.stderr.startswith("focuscall: Another server is already running this rig")
    assert server.client(None).get("/api/health").json()["status"] == "ok"


@pytest.mark.parametrize("how", ["newer", "no show", "damaged"])
def test_a_show_that_cannot_be_used_stops_the_start_with_a_sentence_and_leaves_nothing_running(
    tmp_path: Path, how: str
) -> None:
    server = Server(tmp_path / "data")
    show = tmp_path / "data" / "demo" / "show.sqlite"
    show.parent.mkdir(parents=True)
    if how == "no show":
        show.write_bytes(b"Dear all, the get-in is at nine.\n" * 100)
    else:
        with closing(sqlite3.connect(show)) as file:
            tables = "CREATE TABLE event (seq INTEGER PRIMARY KEY, at, person, kind, body); "
            tables += "CREATE TABLE snapshot (only PRIMARY KEY, seq, body); CREATE TABLE synced (only, at); "
            tables += "INSERT INTO event VALUES (1, 0, '', 'Exploded', ''); PRAGMA user_version = "
            file.executescript(tables + ("1" if how == "damaged" else "99"))
    before = show.read_bytes()
    try:
        refused = subprocess.run(
            server.command,
            cwd=package_folder().parent,
            capture_output=True,
            text=True,
            timeout=ENOUGH_S,
            check=False,
        )
        assert refused.returncode == 2
        assert refused.stderr.splitlines()[-1].startswith("focuscall: ")
        assert "Traceback" not in refused.stderr
        assert how == "damaged" or show.read_bytes() == before
        assert not server.output_lives()
    finally:
        server.end()
