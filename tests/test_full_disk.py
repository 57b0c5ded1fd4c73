"""On a disk that is full or read-only the light goes on and nothing is acknowledged that is not kept."""

import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from server.places import package_folder
from tests.phones import Phone
from tests.servers import ENOUGH_S, Server, serving
from tests.small_disks import filled, limited_growth, mounted

__all__: list[str] = []

Full = Callable[[Server], AbstractContextManager[None]]


@pytest.fixture(params=["a small disk", "a limit"])
def cramped(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[Server, Full]]:
    """A server with the demo show, and what makes its disk full for a while."""
    if request.param == "a limit":
        with serving(tmp_path / "data") as server:
            yield server, lambda server: limited_growth(server.pid)
    else:
        with mounted(12) as disk, serving(disk / "data") as server:
            yield server, lambda _: filled(disk)


def _dimmer(rig: dict[str, Any], fixture: str) -> int:
    value: float = rig["fixtures"][fixture]["values"]["Dimmer"]
    return round(value * 255)


def _drag_refused(phone: Phone, fixture: str, upto: int) -> tuple[list[str], int]:
    """Ask for levels until one is refused, and then a few more; the sentences, and the last level."""
    refused: list[str] = []
    for raw in range(upto):
        answer = phone.ask("set", fixture=fixture, values={"Dimmer": {"raw": raw % 200}})
        if answer["is"] == "refused":
            refused.append(answer["why"])
        if len(refused) == 20:
            return refused, raw % 200
    raise AssertionError(f"only {len(refused)} of {upto} were refused")


def test_on_a_full_disk_the_light_follows_nothing_is_acknowledged_and_later_all_is_kept_unasked(
    cramped: tuple[Server, Full],
) -> None:
    server, full = cramped
    phone, lead = server.phone("crew"), server.phone("lead")
    token = phone.token
    slots = {name: phone.rig["fixtures"][name]["address"] for name in ("demo-3", "demo-4")}
    assert phone.ask("set", fixture="demo-4", values={"Dimmer": {"raw": 40}})["is"] == "ok"
    with full(server):
        # A page of the file may have room left for the first few.
        refused, last = _drag_refused(phone, "demo-3", 2000)
        assert all("disk" in why and "Free some space" in why for why in refused)
        server.sacn.until_slot(1, slots["demo-3"], last)
        began = time.monotonic()
        for raw in range(60, 160):
            phone.send("set", fixture="demo-4", values={"Dimmer": {"raw": raw}})
            _listen_for(phone, 0.02)
        server.sacn.until_slot(1, slots["demo-4"], 159)
        # At once on a change, 44 times a second at most, as with room on the disk: 88 or so, fewer where the
        # machine has much to do.
        times = [at for at, _ in server.sacn.sacn(1, began)]
        assert len(times) >= 30
        assert max(later - earlier for earlier, later in pairwise(times)) < 1.5
        lead.until(lambda: "disk" in lead.rig["alerts"], "the alert")
        fault = phone.ask("fault", fixture="demo-5", words="lamp out")
        assert fault["is"] == "refused"
    # Nobody asks for anything: what is owed is written, and the alert goes.
    lead.until(lambda: "disk" not in lead.rig["alerts"], "the alert gone")
    there = {name: _dimmer(lead.rig, name) for name in slots}
    server.hang_up()
    server.kill()
    server.start()
    back = server.phone_with(token)
    assert {name: _dimmer(back.rig, name) for name in slots} == there
    assert there["demo-4"] == 159
    assert back.rig["fixtures"]["demo-5"]["fault"] == "lamp out"


def _listen_for(phone: Phone, seconds: float) -> None:
    deadline = time.monotonic() + seconds
    while (left := deadline - time.monotonic()) > 0:
        phone.listen(left)


def _refused_start(data: Path) -> str:
    server = Server(data)
    try:
        ended = subprocess.run(
            server.command,
            cwd=package_folder().parent,
            capture_output=True,
            text=True,
            timeout=ENOUGH_S,
            check=False,
        )
        assert ended.returncode == 2
        return ended.stderr
    finally:
        server.sacn.close()
        server.artnet.close()


def test_a_data_folder_that_cannot_be_written_is_told_in_one_sentence() -> None:
    with mounted(1, read_only=True) as disk:
        for data in (disk, disk / "data"):
            told = _refused_start(data)
            assert len(told.splitlines()) == 1, told
            assert told.startswith("focuscall: The data folder")
            assert "give another with --data" in told


def test_on_a_disk_too_small_to_begin_with_the_start_says_so_in_one_sentence() -> None:
    with mounted(1) as disk:
        told = _refused_start(disk / "data")
    assert len(told.splitlines()) == 1, told
    assert "space" in told, told
