"""How the server ends while somebody is aloft."""

import os
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn

from server.ending import Ending
from tests.servers import OPTIONS_AT, TERMINATED, Server, serving

__all__: list[str] = []

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of Unix")


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """Its own, with Kit aloft."""
    # However long this test takes, its second Ctrl-C is the answer to the question.
    with serving(tmp_path / "data", first="from server import ending; ending.SURE_S = 300.0") as running:
        phone = running.phone("crew", "Kit")
        assert phone.ask("aloft", position="Bridge")["is"] == "ok"
        running.sacn.until(lambda: running.sacn.sacn(1), "the first packets")
        yield running


def terminated(server: Server, since: float) -> bool:
    return any(packet[OPTIONS_AT] & TERMINATED for _, packet in server.sacn.sacn(1, since))


def test_ctrl_c_asks_first_and_ends_when_it_is_meant(server: Server) -> None:
    asked = time.monotonic()
    os.kill(server.pid, signal.SIGINT)
    server.sacn.until(lambda: "Somebody is aloft (Kit)" in server.log(), "the question")
    server.sacn.until(lambda: len(server.sacn.sacn(1, asked)) > 1, "packets afterwards")
    assert not terminated(server, asked)
    assert server.client("crew").get("/api/health").json()["status"] == "ok"
    assert server.interrupt() == 0
    server.sacn.until(lambda: terminated(server, asked), "the end")


def test_stopped_by_the_system_the_streams_go_on(server: Server) -> None:
    stopped = time.monotonic()
    os.kill(server.pid, signal.SIGTERM)
    assert server.wait() == 0
    ended = time.monotonic()
    server.sacn.until(lambda: server.sacn.sacn(1, ended), "packets afterwards")
    assert not terminated(server, stopped)
    server.start()
    assert server.phone("lead").rig["people"]


def test_with_nobody_aloft_one_ctrl_c_is_enough(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as running:
        running.sacn.until(lambda: running.sacn.sacn(1), "the first packets")
        assert running.interrupt() == 0
        running.sacn.until(lambda: terminated(running, 0.0), "the end")


def test_an_impatient_second_ctrl_c_changes_nothing(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as running:
        running.sacn.until(lambda: running.sacn.sacn(1), "the first packets")
        os.kill(running.pid, signal.SIGINT)
        assert running.interrupt() == 0
        running.sacn.until(lambda: terminated(running, 0.0), "the end")
        assert "Traceback" not in running.log()


def test_nor_does_one_that_comes_while_the_first_is_looked_at() -> None:
    signals = [signal.SIGINT]  # still to come

    def aloft() -> str:
        if signals:
            ending.handle_exit(signals.pop(), None)
        return ""

    ending = Ending(uvicorn.Config(lambda: None), aloft, lambda: False)
    ending.handle_exit(signal.SIGINT, None)
    assert (ending.should_exit, ending.force_exit) == (True, False)
