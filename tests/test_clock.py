"""The laptop's clock is set while it works: nothing that is sent follows it, nothing is allowed for longer.

A patched `time.time` stands for the clock, in both processes: Python finds `sitecustomize` before all else.
"""

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.arrivals import Arrivals, ear
from tests.servers import QUICK_PINS, Server, serving

__all__: list[str] = []

HOUR_S = 3600.0
STEADY = 1
CLOCK = """
import os, time
_folder, _real = os.environ["FOCUSCALL_TEST_CLOCK"], time.time
def _set():
    with open(_folder + "/set_by") as file:
        return float(file.read() or "0")
time.time = lambda: _real() + _set()
open(_folder + f"/{os.getpid()}", "w").close()
"""


class Laptop:
    """A server on a laptop whose clock is set by `by`."""

    def __init__(self, server: Server, folder: Path, wire: Arrivals) -> None:
        self.server, self.wire, self.by, self._folder = server, wire, 0.0, folder

    def set_clock(self, by_s: float) -> None:
        """By so many seconds from where it is now."""
        self.by += by_s
        new = self._folder / "new"
        new.write_text(str(self.by))
        new.replace(self._folder / "set_by")  # never half written

    def clocks(self) -> int:
        """How many processes go by it."""
        return sum(path.name.isdigit() for path in self._folder.iterdir())


@pytest.fixture(scope="module")
def laptop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    folder, data = tmp_path_factory.mktemp("clock"), tmp_path_factory.mktemp("set") / "data"
    (folder / "sitecustomize.py").write_text(CLOCK)
    (folder / "set_by").write_text("0")
    data.mkdir()
    (data / "settings.toml").write_text(f"steady = [{STEADY}]\n")
    with ear() as listening, pytest.MonkeyPatch.context() as patch:
        patch.setenv("FOCUSCALL_TEST_CLOCK", str(folder))
        patch.setenv("PYTHONPATH", os.pathsep.join([str(folder), os.environ.get("PYTHONPATH", "")]))
        wire = Arrivals(listening)
        with serving(data, f"--sacn-to=127.0.0.1:{wire.port}", first=QUICK_PINS) as server:
            laptop = Laptop(server, folder, wire)
            assert laptop.clocks() >= 2, "the server and its output process"
            yield laptop


def test_packets_stay_on_their_grid_while_the_clock_is_set_by_an_hour(laptop: Laptop) -> None:
    wire, phone = laptop.wire, laptop.server.phone("crew")
    wire.drain()
    wire.until(lambda: STEADY in wire.universes, "the steady universe")
    for by_s in (HOUR_S, -2 * HOUR_S, HOUR_S):
        laptop.set_clock(by_s)
        before = len(wire.universes[STEADY].times)
        # The light follows, too: a fade is counted by the clock that nobody sets.
        assert phone.ask("set", fixture="demo-1", values={"Dimmer": 0.5 + by_s / 1e5})["is"] == "ok"
        wire.until(lambda before=before: len(wire.universes[STEADY].times) >= before + 44, "a second")  # type: ignore[misc]
    for heard in wire.universes.values():
        assert (heard.lost, heard.too_close, heard.ended) == (0, 0, 0)
    assert wire.universes[STEADY].hz < 44.2


def test_what_is_armed_ends_in_its_time_though_the_clock_was_set_back(laptop: Laptop) -> None:
    lead = laptop.server.phone("lead")
    fogger = next(f for f, told in lead.rig["fixtures"].items() if told["guarded"])
    began = time.monotonic()
    assert lead.ask("arm", fixture=fogger, reason="a test", seconds=3)["is"] == "ok"
    lead.until(lambda: lead.rig["fixtures"][fogger]["armed"], "that it is armed")
    laptop.set_clock(-30.0)
    # By the clock on the wall it would be armed for 33 s; a phone is waited for no longer than 15 s.
    lead.until(lambda: not lead.rig["fixtures"][fogger]["armed"], "that it is armed no longer")
    assert time.monotonic() - began > 2.5, "it was not taken away before its time either"


def test_what_is_armed_ends_when_the_clock_was_set_on(laptop: Laptop) -> None:
    lead = laptop.server.phone("lead")
    fogger = next(f for f, told in lead.rig["fixtures"].items() if told["guarded"])
    assert lead.ask("arm", fixture=fogger, reason="a test")["is"] == "ok"
    laptop.set_clock(HOUR_S)
    lead.until(lambda: not lead.rig["fixtures"][fogger]["armed"], "that it is armed no longer")


def test_dark_is_counted_down_in_full_though_the_clock_was_set_on(laptop: Laptop) -> None:
    lead = laptop.server.phone("lead")
    began = time.monotonic()
    assert lead.ask("going_dark")["is"] == "ok"
    laptop.set_clock(4.0)
    lead.until(lambda: lead.rig["blackout"], "the dark")
    assert time.monotonic() - began > 4.9
    assert lead.ask("blackout", on=False)["is"] == "ok"
