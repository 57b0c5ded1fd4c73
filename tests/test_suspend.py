"""A laptop that sleeps, or one process that stands still: streams go on, and nothing comes in a burst."""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from server.output.process import ALONE_S
from server.output.shared_map import SharedMap
from tests.arrivals import Arrivals, ear
from tests.servers import QUICK_PINS, Server, serving

__all__: list[str] = []

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
SLEPT_S = ALONE_S + 0.5  # longer than either process waits for the other
STEADY, QUIET = 1, 2


@pytest.fixture(scope="module")
def wire() -> Iterator[Arrivals]:
    with ear() as made:
        yield Arrivals(made)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, wire: Arrivals) -> Iterator[Server]:
    data = tmp_path_factory.mktemp("sleeps") / "data"
    data.mkdir()
    (data / "settings.toml").write_text(f"steady = [{STEADY}]\n")
    with serving(data, f"--sacn-to=127.0.0.1:{wire.port}", first=QUICK_PINS) as server:
        yield server


@pytest.fixture
def stream(server: Server, wire: Arrivals) -> Iterator[Arrivals]:
    """What is heard from now on; afterwards nothing of it may have been lost, repeated, ended or hurried."""
    wire.drain()
    wire.until(lambda: {STEADY, QUIET} <= wire.universes.keys(), "both universes")
    wire.more(1)
    yield wire
    wire.more(1)
    for universe, heard in wire.universes.items():
        assert heard.lost == 0, f"universe {universe}: {list(heard.numbers)[-30:]}"
        assert heard.too_close == 0, f"universe {universe}: {min(heard.gaps)}"
        assert heard.ended == 0
    server.hang_up()


@contextmanager
def stopped(*processes: int) -> Iterator[None]:
    for process in processes:
        os.kill(process, signal.SIGSTOP)
    try:
        yield
    finally:
        for process in processes:
            os.kill(process, signal.SIGCONT)


def output_of(server: Server) -> int:
    shared = SharedMap(server.data / "demo" / "output.map")
    pid = shared.number("pid")
    shared.close()
    return pid


def goes_on(stream: Arrivals) -> None:
    """A burst would show as packets that come too close, which is judged in the end."""
    before = len(stream.universes[STEADY].times)
    stream.until(lambda: len(stream.universes[STEADY].times) >= before + 44, "a second of frames")


def test_a_laptop_that_slept_goes_on_where_it_was(server: Server, stream: Arrivals) -> None:
    lead, crew = server.phone("lead"), server.phone("crew")
    with stopped(server.pid, output_of(server)):
        stream.listen(SLEPT_S)
        asked = crew.send("set", fixture="demo-1", values={"Dimmer": 0.5})
    goes_on(stream)
    assert crew.answer(asked)["is"] == "ok"  # the same socket: what was sent into it meanwhile is not lost
    lead.until(lambda: lead.rig["fixtures"]["demo-1"]["holder"] is not None, "what the other asked")
    told = [about for message in lead.heard for about in message.get("alerts", {})]
    assert "output" not in told, "who wakes first must not say that the other does not answer"


def test_a_server_that_stands_still_holds_up_no_packet(server: Server, stream: Arrivals) -> None:
    crew, times = server.phone("crew"), stream.universes[STEADY].times
    half = round(22 * SLEPT_S)  # of 44 a second: the machine may have other work, but not all the time
    before = len(times)
    with stopped(server.pid):
        stream.listen(SLEPT_S)
        asked = crew.send("set", fixture="demo-2", values={"Dimmer": 0.5})
        stream.until(
            lambda: len(times) > before + half and times[-1] - times[-1 - half] <= SLEPT_S, "its pace"
        )
    assert crew.answer(asked)["is"] == "ok"


def test_an_output_that_stands_still_is_told_of_and_goes_on_with_the_newest_picture(
    server: Server, stream: Arrivals
) -> None:
    lead, crew = server.phone("lead"), server.phone("crew")
    with stopped(output_of(server)):
        assert crew.ask("set", fixture="demo-3", values={"Dimmer": 0.5})["is"] == "ok"
        lead.until(lambda: "does not answer" in str(lead.rig["alerts"].get("output")), "that it is told")
        stream.hear()
    goes_on(stream)
    lead.until(lambda: "output" not in lead.rig["alerts"], "that it is well again")
