"""Universes that go together: whole frames at one pace, and after each what tells receivers to act on it."""

import os
import signal
import uuid
from itertools import pairwise
from pathlib import Path
from time import monotonic

import pytest

from server.output.link import Output
from server.output.pacing import Pace
from server.output.place import ART_NET, By, plain_sacn
from server.output.plan import ArtNet, ArtSyncTo, Plan, Sacn, UniversePlan
from server.output.shared_map import SharedMap
from server.output.together import Together, together_hz
from server.wire import artnet, e131
from tests.output.ear import CID, DIM, FULL, Ear, at_once

__all__: list[str] = []

SYNC = 7962  # the standard's example (E1.31-2018, Appendix B)


def planned(
    *outputs: tuple[Sacn | ArtNet, ...], sync: int = SYNC, artnet_sync: tuple[ArtSyncTo, ...] = ()
) -> Plan:
    universes = tuple(UniversePlan(at, to) for at, to in enumerate(outputs, 1))
    return Plan(CID, "Test", None, universes, sync=sync, artnet_sync=artnet_sync)


def begun(folder: Path, plan: Plan) -> Output:
    output = Output.start(folder)
    output.set_plan(plan)
    at_once(output, {each.universe: DIM for each in plan.universes})
    return output


def order(ear: Ear) -> str:
    """What came, in its order: D data, T the last packets, S synchronisation, a ArtDmx, s ArtSync."""
    letters = []
    for octets in ear.heard:
        packet = (artnet if octets.startswith(b"Art-Net") else e131).decode(octets)
        match packet:
            case e131.Data():
                letters.append("T" if packet.terminated else "D")
            case e131.Sync():
                letters.append("S")
            case artnet.Dmx():
                letters.append("a")
            case artnet.Sync():
                letters.append("s")
    return "".join(letters)


def test_all_levels_of_a_frame_leave_and_then_one_packet_of_synchronisation(folder: Path, ear: Ear) -> None:
    # E1.31-2018, 11.2: all data of a source with the address, then one packet on that address.
    to = (Sacn("127.0.0.1", ear.port),)
    output = begun(folder, planned(*[to] * 40))  # more than are sent at once otherwise
    ear.until(lambda: len(ear.syncs()) >= 4)
    output.write(7, FULL)
    output.wake()
    since = len(ear.syncs())
    ear.until(lambda: len(ear.syncs()) >= since + 5)
    output.end()
    ear.until(lambda: all(ear.ended(universe) for universe in range(1, 41)))
    *frames, end = order(ear).split("S")
    assert all(set(frame) == {"D"} for frame in frames)
    assert max(map(len, frames)) == 40
    assert end == "T" * 120
    data = [packet for universe in range(1, 41) for packet in ear.data(universe)]
    assert {(packet.sync_address, packet.force_sync) for packet in data if not packet.terminated} == {
        (SYNC, True)
    }
    assert {packet.sync_address for packet in data if packet.terminated} == {0}, "nobody waits for the end"
    assert {(packet.sync_address, packet.cid) for packet in ear.syncs()} == {(SYNC, uuid.UUID(CID).bytes)}
    numbers = [packet.sequence for packet in ear.syncs()]
    assert all((after - before) % 256 == 1 for before, after in pairwise(numbers))
    assert [packet.slots[0] for packet in ear.data(7)][-4:] == [255] * 4
    assert min(ear.apart(7)[:-3]) >= 0.022


def test_what_changes_at_once_leaves_in_one_frame_and_what_rests_is_not_sent_with_it(
    folder: Path, ear: Ear
) -> None:
    # E1.31-2018, 6.6.2: unchanged levels are sent three times, and then once in 0.8 to 1 s.
    to = (Sacn("127.0.0.1", ear.port),)
    output = begun(folder, planned(*[to] * 5))
    ear.until(lambda: all(len(ear.data(universe)) >= 4 for universe in range(1, 6)))
    for level in range(60):  # a fade of two of them, for longer than a second and a half
        at_once(output, dict.fromkeys((1, 2), bytes([level]) * 512))
        shown = bytes([level]) * 512
        ear.until(lambda shown=shown: bytes(ear.data(2)[-1].slots) == shown)  # type: ignore[misc]
    output.end()
    ear.until(lambda: all(ear.ended(universe) for universe in range(1, 6)))
    frames, frame = list[set[int]](), set[int]()
    for octets in ear.heard:
        match e131.decode(octets):
            case e131.Data() as packet:
                assert packet.universe not in frame or packet.terminated
                frame.add(packet.universe)
            case e131.Sync():
                frames.append(frame)
                frame = set()
    assert all((1 in frame) == (2 in frame) for frame in frames)
    moving = [frame for frame in frames if 1 in frame]
    assert len(moving) >= 60
    assert all(sum(at in frame for frame in frames) < len(moving) / 2 for at in (3, 4, 5))


def test_what_is_written_by_and_by_leaves_once_it_is_whole(folder: Path, ear: Ear) -> None:
    output = begun(folder, planned(*[(Sacn("127.0.0.1", ear.port),)] * 2))
    ear.until(lambda: all(len(ear.data(universe)) >= 4 for universe in (1, 2)))
    shared = SharedMap(folder / "output.map")

    def rest() -> None:
        """Two keep-alives."""
        seen = len(ear.data(1))
        ear.until(lambda: len(ear.data(1)) >= seen + 2)

    output.write(1, DIM)
    shared.set_time("writing", monotonic() + 3600)  # however long the test is held up before the rest
    output.write(1, FULL)
    rest()
    assert {bytes(packet.slots) for packet in ear.data(1)} == {DIM}
    output.write(2, FULL)
    output.wake()
    ear.until(lambda: any(FULL in frame.values() for frame in _frames(ear)))
    whole = next(frame for frame in _frames(ear) if FULL in frame.values())
    assert whole == {1: FULL, 2: FULL}

    output.write(1, DIM)
    shared.set_time("writing", monotonic() - 3600)  # who wrote it died before the rest
    rest()
    assert bytes(ear.data(1)[-1].slots) == DIM
    shared.close()
    output.end()


def _frames(ear: Ear) -> list[dict[int, bytes]]:
    """The levels by universe of each whole frame."""
    frames, frame = list[dict[int, bytes]](), dict[int, bytes]()
    for octets in ear.heard:
        match e131.decode(octets):
            case e131.Data() as packet:
                frame[packet.universe] = bytes(packet.slots)
            case e131.Sync():
                frames.append(frame)
                frame = {}
    return frames


def test_universes_that_go_together_go_as_the_slowest_receiver_takes_them(folder: Path, ear: Ear) -> None:
    slow, fast = Sacn("127.0.0.1", ear.port, most_hz=12), Sacn("127.0.0.1", ear.port, universe=9)
    plan = planned((slow,), (fast,))
    assert together_hz(plan) == 12
    assert together_hz(planned((slow,), sync=0)) is None
    output = begun(folder, plan)
    ear.until(lambda: len(ear.syncs()) >= 5)
    output.end()
    assert order(ear).split("S")[1:4] == ["DD"] * 3
    assert min(ear.apart(9)) >= 1 / 12 - 0.0005


def test_who_leaves_synchronisation_says_so_and_each_universe_has_its_own_pace_again(
    folder: Path, ear: Ear
) -> None:
    # E1.31-2018, Appendix B: data with address 0 ends it cleanly.
    to = (Sacn("127.0.0.1", ear.port),)
    output = begun(folder, planned(to, to))
    ear.until(lambda: len(ear.syncs()) >= 4)
    output.set_plan(planned(to, to, sync=0))
    ear.until(lambda: sum(not packet.sync_address for packet in ear.data(1)) >= 4)
    syncs, before = len(ear.syncs()), len(ear.data(1))
    output.write(2, FULL)
    output.wake()
    ear.until(lambda: sum(packet.slots[0] == 255 for packet in ear.data(2)) == 4)
    assert len(ear.data(1)) - before <= 1, "it has nothing new to say, but for a keep-alive"
    assert len(ear.syncs()) == syncs
    output.set_plan(planned(to, to))
    ear.until(lambda: len(ear.syncs()) >= syncs + 4)
    output.end()
    numbers = [packet.sequence for packet in ear.syncs()]
    assert all((after - earlier) % 256 == 1 for earlier, after in pairwise(numbers))
    for universe in (1, 2):
        assert min(ear.apart(universe)) >= 0.022
        sequences = [packet.sequence for packet in ear.data(universe)]
        assert all((after - earlier) % 256 == 1 for earlier, after in pairwise(sequences))


@pytest.mark.skipif(os.name == "nt", reason="there is no SIGKILL")
def test_numbers_of_synchronisation_count_on_after_a_crash(folder: Path, ear: Ear) -> None:
    output = begun(folder, planned((Sacn("127.0.0.1", ear.port),)))
    ear.until(lambda: len(ear.syncs()) >= 4)
    os.kill(output.pid, signal.SIGKILL)
    ear.until(lambda: not output._runs())
    ear.until_silent(0.02)
    before = len(ear.syncs())
    output.beat()
    ear.until(lambda: len(ear.syncs()) >= before + 2)
    output.end()
    numbers = [packet.sequence for packet in ear.syncs()]
    assert all((after - earlier) % 256 == 1 for earlier, after in pairwise(numbers))


def test_artsync_follows_the_levels_of_a_frame_from_the_same_address(folder: Path, ear: Ear) -> None:
    # Art-Net 4, ArtSync: 14 octets, with every frame; one from another address would be ignored.
    node = Ear("127.0.0.77", artnet.PORT)
    to = tuple((ArtNet("127.0.0.77", port_address=number),) for number in (4660, 4661))
    output = begun(folder, planned(*to, sync=0, artnet_sync=(ArtSyncTo("127.0.0.77"),)))
    node.until(lambda: order(node).count("s") >= 5)
    output.end()
    node.until_silent(0.05)
    assert order(node).split("s")[1:] == ["aa"] * (order(node).count("s") - 1) + [""]
    assert len(set(node.senders)) == 1
    assert {octets for octets in node.heard if len(octets) == 14} == {
        bytes.fromhex("4172742d4e6574000052000e0000")
    }
    node.close()


def test_synchronisation_goes_to_its_own_group_by_each_way_and_to_hosts() -> None:
    # E1.31-2018, 6.3.3.1: to the group of the address; 7962 is 239.255.31.26 (Appendix B).
    outputs = (Sacn(), Sacn(interface="10.0.0.9"), Sacn("10.0.0.1"), ArtNet("10.0.0.3"))
    made = Together(planned(outputs, artnet_sync=(ArtSyncTo("10.255.255.255"),)), Pace())
    nine = By("sacn", "10.0.0.9", bound=True)
    (packet, to), (art_packet, art_to) = made.packets(111)
    assert to == {
        (plain_sacn(None), ("239.255.31.26", 5568)),
        (nine, ("239.255.31.26", 5568)),
        (plain_sacn(None), ("10.0.0.1", 5568)),
    }
    # E1.31-2018, Table 4-2, built by hand: address 7962, sequence 111; Art-Net 4, ArtSync.
    head = "001000004153432d45312e3137000000702100000008ef07c8dd00644401a3a2459ef8e6143e700b00000001"
    assert packet == bytes.fromhex(head + "6f1f1a0000")
    assert art_packet == bytes.fromhex("4172742d4e6574000052000e0000")
    assert art_to == {(ART_NET, ("10.255.255.255", 6454))}
    assert made.ways == {plain_sacn(None), nine, ART_NET}


def test_artsync_leaves_by_the_way_its_levels_leave_and_not_without_levels() -> None:
    here, there = ArtNet("10.0.0.3", interface="10.0.0.9"), ArtNet("2.0.0.3", interface="2.0.0.9")
    side = ArtSyncTo("2.255.255.255", interface="2.0.0.9")
    to = (ArtSyncTo("10.0.0.255"), side, ArtSyncTo("2.0.0.7", 7000))
    made = Together(planned((here, there), sync=0, artnet_sync=to), Pace())
    ten, two = By("artnet", "10.0.0.9", bound=True), By("artnet", "2.0.0.9", bound=True)
    assert made.packets(0)[1][1] == {
        (ten, ("10.0.0.255", 6454)),
        (two, ("2.255.255.255", 6454)),
        (ten, ("2.0.0.7", 7000)),
    }
    assert not made.has_sacn
    without = Together(planned((Sacn(),), artnet_sync=to), Pace())
    assert without.packets(0)[1][1] == set()
