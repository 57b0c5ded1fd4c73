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
            read.append(heard.get(timeout=10))  # it tells of a packet only when the levels are others
    finally:
        output.end()
        receiver.stop()
    assert [packet.dmxData for packet in read] == [(level, 255 - level) * 256 for level in range(1, 11)]
    assert {(packet.universe, packet.priority, packet.sourceName) for packet in read} == {(61234, 88, "Test")}
