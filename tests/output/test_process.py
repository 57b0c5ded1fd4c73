"""The output process itself: what it sends, and what it never sends. Packets are caught on loopback."""

import os
import shutil
import signal
import subprocess
import sys
import time
from itertools import groupby, pairwise
from pathlib import Path

import pytest

from server.output.link import Output
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan
from server.output.process import ALONE_S, HOUSEKEEPING_S
from server.places import package_folder
from server.wire import e131
from tests.output.ear import CID, DIM, ENOUGH_S, FULL, Ear, kill, plan, sequences_run_on, web_side

__all__: list[str] = []


def test_nothing_is_sent_before_the_first_picture_and_no_packet_is_of_zeros(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, 2))
    output.write(2, FULL)
    output.wake()
    ear.until(lambda: len(ear.data(2)) == 4)
    output.end()
    ear.until(lambda: ear.ended(2))
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
    ear.until(ear.ended)
    before = len(ear.data()) - 3  # a test that is held up hears keep-alives, too
    assert [packet.terminated for packet in ear.data()] == [False] * before + [True] * 3
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
    ear.until(ear.ended)
    before = len(ear.data())
    output.set_plan(plan(ear, 1))
    output.write(1, FULL)
    output.wake()
    ear.until(lambda: len(ear.data()) == before + 4)
    output.end()
    assert [packet.slots[0] for packet in ear.data()] == [1] * before + [255] * 4
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


def test_priorities_of_slots_follow_the_levels_of_their_picture_with_the_next_number(
    folder: Path, ear: Ear
) -> None:
    output = Output.start(folder)
    to = (Sacn("127.0.0.1", ear.port, 90), ArtNet("127.0.0.1", ear.port, 9))
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to, off_limits=((2, 2),), per_slot=True),)))
    first, held = bytes([100]) * 512, bytes([150]) * 3 + bytes(509)
    pinned = [each[:1] + b"\0" + each[2:] for each in (first, held, bytes(512))]

    def until(each: bytes, times: int) -> None:
        ear.until(lambda: [bytes(p.slots) for p in ear.data() if p.start_code].count(each) >= times)

    output.write(1, DIM, first)
    output.wake()
    until(pinned[0], 4)
    output.write(1, FULL, held)
    output.wake()
    until(pinned[1], 4)
    assert (output.picture(1), output.priorities(1)) == (FULL, held)
    until(pinned[1], 6)  # two keep-alives
    output.write(1, DIM)
    output.wake()
    until(pinned[2], 4)
    output.end()
    ear.until(ear.ended)
    assert sequences_run_on(ear.data())
    assert [packet.start_code for packet in ear.data()[-3:]] == [0] * 3
    levels, priorities = ear.data()[:-3:2], ear.data()[1:-3:2]
    assert {(one.start_code, other.start_code) for one, other in zip(levels, priorities, strict=True)} == {
        (0, 0xDD)
    }
    shown = [(one.slots[0], bytes(each.slots)) for one, each in zip(levels, priorities, strict=True)]
    assert [one for one, _ in groupby(shown)] == list(zip((1, 255, 1), pinned, strict=True))
    assert {packet.priority for packet in ear.data()} == {90}


def test_a_universe_that_begins_to_say_priorities_says_those_written_before_and_may_stop(
    folder: Path, ear: Ear
) -> None:
    output = Output.start(folder)
    to = (Sacn("127.0.0.1", ear.port),)
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to),)))
    held = bytes([150]) * 3 + bytes(509)
    output.write(1, FULL, held)
    output.wake()
    ear.until(lambda: len(ear.data()) == 4)
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to, per_slot=True),)))
    ear.until(lambda: sum(packet.start_code == 0xDD for packet in ear.data()) == 4)
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, (Sacn("127.0.0.1", ear.port, 70),)),)))
    ear.until(lambda: sum(packet.priority == 70 for packet in ear.data()) == 4)
    output.end()
    assert sequences_run_on(ear.data())
    codes = [packet.start_code for packet in ear.data()]
    begins, stops = codes.index(0xDD) - 1, len(codes) - 4
    assert begins >= 4
    assert codes[begins:] == [0, 0xDD] * ((stops - begins) // 2) + [0] * 4
    assert {bytes(packet.slots) for packet in ear.data() if packet.start_code} == {held}
    assert [packet.priority for packet in ear.data()] == [100] * stops + [70] * 4


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


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
def test_told_to_end_alone_it_gives_a_web_side_that_slept_as_long_the_time_to_wake(
    folder: Path, ear: Ear
) -> None:
    output = Output.start(folder)
    to = (Sacn("127.0.0.1", ear.port),)
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to, steady=True),), "end"))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    os.kill(output.pid, signal.SIGSTOP)
    ear.until_silent(ALONE_S + 0.5)  # and no beat of ours meanwhile: the whole laptop sleeps
    woken = time.monotonic()
    os.kill(output.pid, signal.SIGCONT)
    ear.until(lambda: output._map.time("beat") > woken + HOUSEKEEPING_S)
    output.beat()
    heard = len(ear.data())
    ear.until(lambda: len(ear.data()) >= heard + 10)
    assert not any(packet.terminated for packet in ear.data())
    ear.until(lambda: sum(packet.terminated for packet in ear.data()) == 3)  # nobody beats: alone in earnest
    assert time.monotonic() - woken > ALONE_S
    output.end()


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


def test_the_process_loads_nothing_that_only_the_web_side_needs() -> None:
    asked = "import sys, server.output.__main__; print(*sys.modules)"
    ran = subprocess.run(
        [sys.executable, "-c", asked], cwd=package_folder().parent, capture_output=True, text=True, check=True
    )
    loaded = set(ran.stdout.split())
    assert "server.output.process" in loaded
    assert not {"asyncio", "fastapi", "http", "numpy", "pydantic", "sqlite3", "ssl", "uvicorn"} & loaded
