"""The web side's end with the real output process: packets caught on loopback."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from itertools import pairwise
from pathlib import Path

import pytest

from server.output.link import Output, OutputBusy
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan
from server.wire import artnet, e131

__all__: list[str] = []

CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"
DIM, FULL = bytes([1]) * 512, bytes([255]) * 512
ENOUGH_S = 10.0


class Ear:
    """A receiver on loopback that remembers everything it heard, with the kernel's time of arrival."""

    def __init__(self) -> None:
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1 << 22)
        self._socket.bind(("127.0.0.1", 0))
        self.port: int = self._socket.getsockname()[1]
        self.heard: list[bytes] = []

    def until(self, satisfied: Callable[[], bool]) -> None:
        """Listen until `satisfied`; fails after ten seconds."""
        deadline = time.monotonic() + ENOUGH_S
        self._socket.settimeout(0.02)
        while not satisfied():
            assert time.monotonic() < deadline, f"heard {len(self.heard)} packets and waited for more"
            with suppress(TimeoutError):
                self.heard.append(self._socket.recv(2000))

    def until_silent(self, seconds: float) -> None:
        """Listen until nothing came for so long."""
        self._socket.settimeout(seconds)
        with suppress(TimeoutError):
            while True:
                self.heard.append(self._socket.recv(2000))

    def data(self, universe: int = 1) -> list[e131.Data]:
        packets = [e131.decode(packet) for packet in self.heard if packet.startswith(b"\0\x10")]
        return [packet for packet in packets if isinstance(packet, e131.Data) and packet.universe == universe]

    def levels(self) -> list[artnet.Dmx]:
        packets = [artnet.decode(packet) for packet in self.heard if packet.startswith(b"Art-Net")]
        return [packet for packet in packets if isinstance(packet, artnet.Dmx)]

    def close(self) -> None:
        self._socket.close()


@pytest.fixture
def ear() -> Iterator[Ear]:
    made = Ear()
    yield made
    made.close()


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A data folder whose output process, should one be left, is ended."""
    yield tmp_path
    try:
        Output.start(tmp_path).end()
    except OutputBusy:
        pytest.fail("an output was left open")


def plan(ear: Ear, *universes: int, steady: bool = False) -> Plan:
    return Plan(
        CID, "Test", None, tuple(UniversePlan(n, (Sacn("127.0.0.1", ear.port),), steady) for n in universes)
    )


def sequences_run_on(packets: list[e131.Data]) -> bool:
    return all((b.sequence - a.sequence) % 256 == 1 for a, b in pairwise(packets))


def test_nothing_is_sent_before_the_first_picture_and_no_packet_is_of_zeros(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, 2))
    output.write(2, FULL)
    output.wake()
    ear.until(lambda: len(ear.data(2)) == 4)
    output.end()
    ear.until(lambda: ear.data(2)[-1].terminated and len(ear.data(2)) == 7)
    assert not ear.data(1)
    assert all(bytes(packet.slots) == FULL for packet in ear.data(2))


def test_the_end_is_three_terminated_packets_with_running_numbers(folder: Path, ear: Ear) -> None:
    # E1.31-2018, 6.2.6: three packets with bit 6, the sequence still counting.
    output = Output.start(folder)
    output.set_plan(plan(ear, 1))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) == 4)
    assert output.end()
    ear.until(lambda: len(ear.data()) == 7)
    assert [packet.terminated for packet in ear.data()] == [False] * 4 + [True] * 3
    assert sequences_run_on(ear.data())


def test_a_universe_taken_from_the_plan_ends_and_the_others_go_on(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, 2, steady=True))
    output.write(1, DIM)
    output.write(2, FULL)
    output.wake()
    ear.until(lambda: bool(ear.data(1) and ear.data(2)))
    output.set_plan(plan(ear, 1, steady=True))
    ear.until(lambda: sum(packet.terminated for packet in ear.data(2)) == 3)
    before = len(ear.data(1))
    ear.until(lambda: len(ear.data(1)) >= before + 10)
    assert not any(packet.terminated for packet in ear.data(1))
    assert ear.data(2)[-1].terminated
    assert output.picture(2) is None
    with pytest.raises(KeyError):
        output.write(2, FULL)
    output.end()


def test_a_universe_put_back_waits_for_a_new_picture_and_counts_on(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) == 4)
    output.set_plan(plan(ear))
    ear.until(lambda: len(ear.data()) == 7)
    output.set_plan(plan(ear, 1))
    output.write(1, FULL)
    output.wake()
    ear.until(lambda: len(ear.data()) == 11)
    output.end()
    assert [packet.slots[0] for packet in ear.data()] == [1] * 7 + [255] * 4
    assert sequences_run_on(ear.data())


def test_off_limits_slots_leave_as_0_whatever_is_written(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    limits = ((1, 3), (512, 512))
    to = (Sacn("127.0.0.1", ear.port), ArtNet("127.0.0.1", ear.port, 9))
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to, off_limits=limits),)))
    output.write(1, FULL)
    output.wake()
    ear.until(lambda: len(ear.data()) >= 4 and len(ear.levels()) >= 4)
    output.end()
    expected = bytes(3) + bytes([255]) * 508 + bytes(1)
    assert {bytes(packet.slots) for packet in ear.data()} == {expected}
    assert {bytes(packet.slots) for packet in ear.levels()} == {expected}


def test_one_packet_has_one_number_wherever_it_goes(folder: Path, ear: Ear) -> None:
    # E1.31-2018, 6.2.5: one counter per universe; Art-Net counts 1 to 255 of its own.
    other = Ear()
    output = Output.start(folder)
    to = (
        *(Sacn("127.0.0.1", ear.port), Sacn("127.0.0.1", other.port, 90)),
        *(ArtNet("127.0.0.1", ear.port, 4660), ArtNet("127.0.0.1", other.port, 4661)),
    )
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to, steady=True),)))
    output.write(1, DIM)
    output.wake()
    for each in (ear, other):
        each.until(lambda each=each: len(each.levels()) == 260)  # type: ignore[misc]
    output.end()
    for each in (ear, other):
        assert sequences_run_on(each.data())
        numbers = [packet.sequence for packet in each.levels()]
        assert all(b == a % 255 + 1 for a, b in pairwise(numbers))
    assert [p.sequence for p in ear.data()[:50]] == [p.sequence for p in other.data()[:50]]
    assert {packet.priority for packet in other.data()} == {90}
    assert {packet.port_address for packet in other.levels()} == {4661}
    other.close()


def test_the_list_of_universes_goes_to_the_hosts_of_a_plan_without_multicast(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, 2, 7))
    for universe in (1, 2, 7):
        output.write(universe, DIM)
    output.wake()

    def lists() -> list[e131.Discovery]:
        packets = [e131.decode(packet) for packet in ear.heard]
        return [packet for packet in packets if isinstance(packet, e131.Discovery)]

    ear.until(lambda: bool(lists()))
    output.end()
    assert lists()[-1].universes[-1] in (1, 2, 7)
    assert lists()[0].source_name == "Test"


def test_a_second_server_on_the_same_folder_is_refused_in_words(
    folder: Path, ear: Ear, tmp_path: Path
) -> None:
    output = Output.start(folder)
    with pytest.raises(OutputBusy, match="same data folder"):
        Output.start(folder)
    elsewhere = Output.start(tmp_path / "another")
    assert elsewhere.pid != output.pid
    elsewhere.end()
    output.end()


def test_counts_tell_frames_and_a_host_that_cannot_be_reached_is_told_in_words(
    folder: Path, ear: Ear
) -> None:
    output = Output.start(folder)
    # No sACN goes to a broadcast address, so its socket never asked to be allowed to.
    to = (Sacn("127.0.0.1", ear.port), Sacn("127.255.255.255"))
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to, steady=True),)))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: output.counts()[1].errors > 0 and output.last_error() is not None)
    counts = output.counts()[1]
    assert counts.frames > 0
    assert 0 <= time.monotonic() - counts.last_sent_s < 2
    assert "127.255.255.255" in str(output.last_error())
    output.set_plan(plan(ear, 1, steady=True))
    ear.until(lambda: output.last_error() is None)
    output.end()


def test_a_picture_has_512_slots(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1))
    with pytest.raises(ValueError, match="512"):
        output.write(1, b"\0" * 511)
    output.end()


def test_left_alone_it_holds_and_the_next_start_takes_over_without_a_gap(folder: Path, ear: Ear) -> None:
    first = Output.start(folder)
    first.set_plan(plan(ear, 1, steady=True))
    first.write(1, DIM)
    first.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    pid = first.pid
    first.leave()
    ear.until(lambda: len(ear.data()) >= 20)
    second = Output.start(folder)
    assert second.taken_over
    assert second.pid == pid
    assert second.picture(1) == DIM
    second.set_plan(plan(ear, 1, steady=True))
    second.write(1, FULL)
    second.wake()
    ear.until(lambda: ear.data()[-1].slots[0] == 255)
    second.end()
    assert sequences_run_on(ear.data())
    assert {bytes(packet.slots) for packet in ear.data()} == {DIM, FULL}


WEB_SIDE = """
import sys, time
from pathlib import Path
from server.output.link import Output
from server.output.plan import Plan, Sacn, UniversePlan
output = Output.start(Path(sys.argv[1]))
planned = (UniversePlan(1, (Sacn("127.0.0.1", int(sys.argv[2])),), steady=True),)
output.set_plan(Plan("ef07c8dd-0064-4401-a3a2-459ef8e6143e", "Test", None, planned, sys.argv[3]))
output.write(1, bytes([1]) * 512)
output.wake()
print("up", flush=True)
time.sleep(60)
"""


def web_side(folder: Path, ear: Ear, when_alone: str = "hold") -> "subprocess.Popen[str]":
    """Another process as the web side; it writes one picture and then does nothing at all."""
    child = subprocess.Popen(
        [sys.executable, "-c", WEB_SIDE, str(folder), str(ear.port), when_alone],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "up\n"
    return child


def kill(child: "subprocess.Popen[str]") -> None:
    child.kill()
    child.communicate()


def test_the_web_side_may_be_killed_and_the_next_one_takes_over(folder: Path, ear: Ear) -> None:
    child = web_side(folder, ear)
    ear.until(lambda: len(ear.data()) >= 10)
    kill(child)
    before = len(ear.data())
    ear.until(lambda: len(ear.data()) >= before + 44)
    output = Output.start(folder)
    assert output.taken_over
    assert output.picture(1) == DIM
    ear.until(lambda: len(ear.data()) >= before + 88)
    output.end()
    assert sequences_run_on(ear.data())
    assert all(bytes(packet.slots) == DIM for packet in ear.data())


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
def test_a_web_side_that_hangs_for_a_second_costs_no_packet(folder: Path, ear: Ear) -> None:
    child = web_side(folder, ear)
    ear.until(lambda: len(ear.data()) >= 3)
    child.send_signal(signal.SIGSTOP)
    before, began = len(ear.data()), time.monotonic()
    ear.until(lambda: time.monotonic() - began >= 1)
    assert len(ear.data()) - before >= 22
    child.send_signal(signal.SIGCONT)
    assert sequences_run_on(ear.data())
    kill(child)


def test_told_to_end_alone_it_ends_the_streams_when_the_web_side_dies(folder: Path, ear: Ear) -> None:
    child = web_side(folder, ear, "end")
    ear.until(lambda: len(ear.data()) >= 3)
    kill(child)
    ear.until(lambda: sum(packet.terminated for packet in ear.data()) == 3)
    output = Output.start(folder)
    assert not output.taken_over
    assert output.picture(1) is None, "after a proper end nothing is sent until there is a new picture"
    output.end()


def test_alone_and_with_its_folder_deleted_it_ends(tmp_path: Path, ear: Ear) -> None:
    # Nobody could ever take it over or end it again, and a new server here would send beside it.
    child = web_side(tmp_path / "data", ear)
    ear.until(lambda: len(ear.data()) >= 3)
    kill(child)
    shutil.rmtree(tmp_path / "data")
    ear.until(lambda: sum(packet.terminated for packet in ear.data()) == 3)


def test_after_both_are_killed_the_last_picture_and_the_numbers_are_still_there(
    folder: Path, ear: Ear
) -> None:
    child = web_side(folder, ear)
    ear.until(lambda: len(ear.data()) >= 10)
    kill(child)
    output = Output.start(folder)
    os.kill(output.pid, signal.SIGTERM if os.name == "nt" else signal.SIGKILL)
    while output._runs():
        time.sleep(0.001)
    output._close()
    after = Output.start(folder)
    assert not after.taken_over
    assert after.picture(1) == DIM
    after.set_plan(plan(ear, 1, steady=True))
    before = len(ear.data())
    ear.until(lambda: len(ear.data()) >= before + 20)
    after.end()
    ear.until(lambda: ear.data()[-1].terminated)
    assert sequences_run_on(ear.data())


@pytest.mark.skipif(os.name == "nt", reason="there SIGTERM is a kill")
def test_a_process_that_is_killed_is_started_again_and_counts_on(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, steady=True))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    killed = output.pid
    os.kill(killed, signal.SIGKILL)
    ear.until(lambda: (output.beat(), output.pid != killed)[1] and len(ear.data()) >= 50)  # type: ignore[func-returns-value]
    output.end()
    assert sequences_run_on(ear.data())
    assert all(bytes(packet.slots) == DIM for packet in ear.data())


@pytest.mark.skipif(os.name == "nt", reason="there SIGTERM is a kill")
def test_sigterm_ends_the_streams_and_ctrl_c_does_not_touch_the_process(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, steady=True))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    os.kill(output.pid, signal.SIGINT)
    os.kill(output.pid, signal.SIGHUP)
    before = len(ear.data())
    ear.until(lambda: len(ear.data()) >= before + 20)
    os.kill(output.pid, signal.SIGTERM)
    ear.until(lambda: sum(packet.terminated for packet in ear.data()) == 3)
    assert output._child is not None
    assert output._child.wait(ENOUGH_S) == 0
    assert "ended from outside" in str(output.last_error())
    output.beat()
    assert output._child.poll() == 0, "what was ended on purpose is not started again"
    output.end()


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
def test_a_process_that_hangs_is_said_and_the_next_start_replaces_it(folder: Path, ear: Ear) -> None:
    first = Output.start(folder)
    first.set_plan(plan(ear, 1, steady=True))
    first.write(1, DIM)
    first.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    hanging = first.pid
    os.kill(hanging, signal.SIGSTOP)
    ear.until(lambda: "does not answer" in (first.last_error() or ""))
    first.leave()
    second = Output.start(folder)
    assert not second.taken_over
    assert second.pid != hanging
    assert second.picture(1) == DIM
    second.end()


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
def test_a_process_stopped_for_seconds_sends_no_burst(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, steady=True))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    os.kill(output.pid, signal.SIGSTOP)
    ear.until_silent(1.0)
    before, began = len(ear.data()), time.monotonic()
    os.kill(output.pid, signal.SIGCONT)
    ear.until(lambda: time.monotonic() - began >= 0.5)
    assert len(ear.data()) - before <= 24, "22 frames in half a second, and the two at its edges"
    output.end()
