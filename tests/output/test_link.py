"""The web side's end with the real output process: either may be killed, hang, or come back."""

import errno
import os
import signal
import time
from pathlib import Path

import pytest

from server.output.link import Output, OutputBusy
from server.output.lock import FileLock
from server.output.plan import Plan, Sacn, UniversePlan
from tests.output.ear import CID, DIM, FULL, Ear, kill, plan, sequences_run_on, web_side

__all__: list[str] = []


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
    began = time.monotonic()
    output = Output.start(folder)
    # No sACN goes to a broadcast address, so its socket never asked to be allowed to.
    to = (Sacn("127.0.0.1", ear.port), Sacn("127.255.255.255"))
    output.set_plan(Plan(CID, "Test", None, (UniversePlan(1, to, steady=True),)))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: output.counts()[1].errors > 0 and output.last_error() is not None)
    counts = output.counts()[1]
    assert counts.frames > 0
    assert began < counts.last_sent_s <= time.monotonic()
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


def goes_on(ear: Ear) -> None:
    """Wait for a second with 22 frames: 44 on a machine with nothing else to do, which this one may have."""
    ear.until_nothing()
    before = len(ear.apart())
    ear.until(lambda: len(ear.apart()) >= before + 22 and sum(ear.apart()[-22:]) <= 1)


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
def test_a_web_side_that_hangs_for_a_second_costs_no_packet(folder: Path, ear: Ear) -> None:
    child = web_side(folder, ear)
    ear.until(lambda: len(ear.data()) >= 3)
    child.send_signal(signal.SIGSTOP)
    goes_on(ear)
    child.send_signal(signal.SIGCONT)
    assert sequences_run_on(ear.data())
    kill(child)


def test_a_web_side_that_is_saturated_costs_no_packet(folder: Path, ear: Ear) -> None:
    child = web_side(folder, ear, "hold", "saturated")
    ear.until(lambda: len(ear.data()) >= 3)
    goes_on(ear)
    assert sequences_run_on(ear.data())
    kill(child)


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
def test_a_process_that_cannot_be_started_again_is_told_and_tried_until_it_can(
    folder: Path, ear: Ear
) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, steady=True))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    log = folder / "output.log"
    log.unlink()
    log.mkdir()  # what a disk gives that may only be read: an error of the system where a file is opened
    os.kill(output.pid, signal.SIGKILL)
    ear.until(lambda: (output.beat(), output.last_error())[1] is not None)  # type: ignore[func-returns-value]
    assert output.last_error() == (
        f"The output process ended, and does not start ({os.strerror(errno.EISDIR)}): nothing is sent. "
        "It is tried again."
    )
    output.beat()
    output.set_plan(plan(ear, 1, steady=True))  # a change of the patch meanwhile
    log.rmdir()
    heard = len(ear.data())
    ear.until(lambda: (output.beat(), len(ear.data()) > heard)[1])  # type: ignore[func-returns-value]
    ear.until(lambda: (output.beat(), output.last_error() is None)[1])  # type: ignore[func-returns-value]
    output.end()
    assert sequences_run_on(ear.data())


@pytest.mark.skipif(os.name == "nt", reason="there SIGTERM is a kill")
def test_a_process_that_starts_and_ends_at_once_is_told_with_its_last_word(folder: Path, ear: Ear) -> None:
    output = Output.start(folder)
    output.set_plan(plan(ear, 1, steady=True))
    output.write(1, DIM)
    output.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    os.kill(output.pid, signal.SIGKILL)
    ear.until(lambda: not output._runs())
    stranger = FileLock(folder / "output.lock")
    ear.until(lambda: (output.beat(), output.last_error() is not None)[1])  # type: ignore[func-returns-value]
    assert "Another output process already sends from this file" in str(output.last_error())
    stranger.release()
    heard = len(ear.data())
    ear.until(lambda: (output.beat(), len(ear.data()) > heard)[1])  # type: ignore[func-returns-value]
    ear.until(lambda: (output.beat(), output.last_error() is None)[1])  # type: ignore[func-returns-value]
    output.end()
    assert sequences_run_on(ear.data())


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
def test_a_process_that_hangs_is_said_and_the_next_start_replaces_it(folder: Path, ear: Ear) -> None:
    first = Output.start(folder)
    first.set_plan(plan(ear, 1, steady=True))
    first.write(1, DIM)
    first.wake()
    ear.until(lambda: len(ear.data()) >= 5)
    hanging = first.pid
    os.kill(hanging, signal.SIGSTOP)
    ear.until_silent(3.1)
    assert first.last_error() is None, "nobody has looked meanwhile: this side may have slept as long"
    ear.until(lambda: "does not answer" in (first.last_error() or ""))
    first.leave()
    second = Output.start(folder)
    assert not second.taken_over
    assert second.pid != hanging
    assert second.picture(1) == DIM
    second.end()
