"""The server as a program: put together, ended in order, and what becomes of the light when it breaks."""

import time
from contextlib import suppress
from pathlib import Path

from websockets.exceptions import ConnectionClosed

from tests.servers import OPTIONS_AT, TERMINATED, Server, serving

__all__: list[str] = []

# A fault of ours in the one task that nothing catches: the hub, from its fifth tick on.
BREAKS = """
import sys
from server.api.hub import Hub
from server.start import run
tick, ticks = Hub.tick, []
def broken(self):
    ticks.append(1)
    if len(ticks) > 4:
        raise ZeroDivisionError("of the test")
    tick(self)
Hub.tick = broken
sys.exit(run(sys.argv[1:]))
"""


def test_a_server_that_breaks_stops_and_leaves_the_light_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    server = Server(tmp_path / "data")
    server.command[1:3] = ["-c", BREAKS]
    try:
        server.start()
        phone = server.phone("lead")
        server.sacn.until(lambda: server.sacn.sacn(3), "the first packets")
        with suppress(ConnectionClosed):
            for n in range(1000):
                phone.send("master", value=1 - n / 1000)
                phone.listen(0.05)
        assert server.wait() == 1
        assert "levels stay as they are" in server.log()
        ended = time.monotonic()
        server.sacn.until(lambda: all(server.sacn.sacn(u, ended) for u in (1, 2, 3)), "packets afterwards")
        packets = [packet for universe in (1, 2, 3) for _, packet in server.sacn.sacn(universe)]
        assert not [packet for packet in packets if packet[OPTIONS_AT] & TERMINATED]
    finally:
        server.end()


def test_a_page_and_the_join_link_are_served(tmp_path: Path) -> None:
    with serving(tmp_path / "data") as server:
        client = server.client(None)
        page = client.get("/")
        assert page.status_code == 200
        assert page.headers["content-type"].startswith("text/html")
        assert "default-src 'self'" in page.headers["content-security-policy"]


def test_a_start_with_open_doors_asks_for_no_pin(tmp_path: Path) -> None:
    with serving(tmp_path / "data", "--open") as server:
        client = server.client(None)
        joined = client.post("/api/join", json={"name": "Ada"}).json()
        assert joined["person"]["role"] == "lead"  # this machine itself
        assert client.post("/api/join", json={"name": "Mo", "pin": "2222"}).json()["person"]["role"] == "crew"
