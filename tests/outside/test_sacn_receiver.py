"""The sacn package's receiver (PyPI, 1.11.0) gets what the output process sends.

It has traps: it keeps state per universe, not per source, and tells of a packet only when levels differ.
"""

import queue
from pathlib import Path

import pytest
from sacn import DataPacket, sACNreceiver

from server.output.link import Output
from server.output.plan import Plan, Sacn, UniversePlan

__all__: list[str] = []

CID = "ef07c8dd-0064-4401-a3a2-459ef8e6143e"


@pytest.mark.parametrize("host", ["127.0.0.1", None], ids=["unicast", "multicast"])
def test_levels_arrive_at_the_packages_receiver(tmp_path: Path, host: str | None) -> None:
    heard: queue.Queue[DataPacket] = queue.Queue()
    # A port of its own, so that nothing else on this machine is heard; multicast has the standard's port.
    port = 5568 if host is None else 15570
    receiver = sACNreceiver(bind_address="127.0.0.1", bind_port=port)
    receiver.register_listener("universe", heard.put, universe=61234)
    receiver.start()
    output = Output.start(tmp_path)
    read = []
    try:
        if host is None:
            receiver.join_multicast(61234)
        to = (Sacn(host, port, 88),)
        output.set_plan(Plan(CID, "Test", "127.0.0.1", (UniversePlan(61234, to, steady=True),)))
        for level in range(1, 11):
            output.write(61234, bytes([level, 255 - level]) * 256)
            output.wake()
            read.append(heard.get(timeout=60))  # it tells of a packet only when the levels are others
    finally:
        output.end()
        receiver.stop()
    assert [packet.dmxData for packet in read] == [(level, 255 - level) * 256 for level in range(1, 11)]
    assert {(packet.universe, packet.priority, packet.sourceName) for packet in read} == {(61234, 88, "Test")}


def test_another_number_priorities_and_synchronisation_are_taken_as_far_as_the_package_goes(
    tmp_path: Path,
) -> None:
    """It knows neither START codes nor synchronisation: all is told at once, 0xDD like levels."""
    heard: queue.Queue[DataPacket] = queue.Queue()
    receiver = sACNreceiver(bind_address="127.0.0.1", bind_port=15571)
    receiver.register_listener("universe", heard.put, universe=61235)
    receiver.start()
    output = Output.start(tmp_path)
    levels, each = bytes(range(256)) * 2, bytes([150]) * 3 + bytes(509)
    try:
        to = (Sacn("127.0.0.1", 15571, 88, universe=61235),)
        output.set_plan(Plan(CID, "Test", None, (UniversePlan(7, to, per_slot=True),), sync=7962))
        output.write(7, levels, each)
        output.wake()
        read = [heard.get(timeout=60) for _ in range(4)]
    finally:
        output.end()
        receiver.stop()
    assert [packet.dmxData for packet in read] == [tuple(levels), tuple(each)] * 2
    assert [packet.dmxStartCode for packet in read] == [0, 0xDD] * 2
    assert [packet.sequence for packet in read] == list(range(read[0].sequence, read[0].sequence + 4))
    assert {(packet.universe, packet.priority, packet.syncAddr) for packet in read} == {(61235, 88, 7962)}
