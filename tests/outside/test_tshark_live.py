"""tshark reads what the output process really sends, off the wire of loopback."""

import socket
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.output.link import Output
from server.output.plan import ArtNet, Plan, Sacn, UniversePlan
from tests.outside.capture import caught, fields

__all__: list[str] = []

CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e")
LEVELS = bytes(range(256)) * 2
EACH = bytes([150]) * 3 + bytes(509)


@pytest.fixture
def port() -> Iterator[int]:
    """A port that somebody has and nobody reads."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as listening:
        listening.bind(("127.0.0.1", 0))
        yield listening.getsockname()[1]


@pytest.fixture
def output(tmp_path: Path) -> Iterator[Output]:
    made = Output.start(tmp_path / "data")
    yield made
    made.end()


def begin(output: Output, plan: Plan) -> None:
    output.set_plan(plan)
    for planned in plan.universes:
        output.write(planned.universe, LEVELS, EACH)
    output.wake()


def run_on(numbers: list[str]) -> bool:
    read = [int(number, 0) for number in numbers]
    return read == list(range(read[0], read[0] + len(read)))


def test_levels_of_both_protocols_are_read_off_the_wire(tmp_path: Path, port: int, output: Output) -> None:
    to = (Sacn("127.0.0.1", port, 77), ArtNet("127.0.0.1", port, 4660))
    plan = Plan(str(CID), "Live", None, (UniversePlan(279, to, steady=True),))
    path = caught(tmp_path / "live.pcap", f"udp dst port {port}", 12, lambda: begin(output, plan))
    packets = fields(
        ("-r", str(path), "-d", f"udp.port=={port},artnet", "-Y", "artnet.output"),
        *("artnet.output.sequence", "artnet.output.universe", "dmx_chan.data_filter", "_ws.malformed"),
    )
    assert packets
    assert run_on([packet[0] for packet in packets])
    assert {(int(packet[1], 0), packet[2].replace(":", ""), packet[3]) for packet in packets} == {
        (4660, LEVELS.hex(), "")
    }
    packets = fields(
        ("-r", str(path), "-Y", "acn.dmx.universe"),
        *("acn.dmx.seq_number", "acn.dmx.universe", "acn.dmx.priority", "acn.dmx.source_name"),
        *("acn.pdu.length", "_ws.malformed", "udp.payload"),
    )
    assert packets
    assert run_on([packet[0] for packet in packets])
    assert {tuple(packet[1:6]) for packet in packets} == {("279", "77", "Live", "622,600,523", "")}
    assert {bytes.fromhex(packet[6])[126:] for packet in packets} == {LEVELS}


def test_priorities_of_slots_are_read_off_the_wire(tmp_path: Path, port: int, output: Output) -> None:
    plan = Plan(str(CID), "Live", None, (UniversePlan(279, (Sacn("127.0.0.1", port, 77),), per_slot=True),))
    path = caught(tmp_path / "each.pcap", f"udp dst port {port}", 10, lambda: begin(output, plan))
    packets = fields(
        ("-r", str(path), "-Y", "acn.dmx.universe"),
        *("acn.dmx.seq_number", "acn.dmx.start_code2", "acn.dmx.universe", "acn.dmx.priority"),
        *("acn.dmx.count", "acn.pdu.length", "_ws.malformed", "udp.payload"),
    )
    # The change and three repeats, then a keep-alive; 221 is START code 0xDD.
    assert [int(packet[1], 0) for packet in packets] == [0, 221] * 5
    assert run_on([packet[0] for packet in packets])
    assert {tuple(packet[2:7]) for packet in packets} == {("279", "77", "513", "622,600,523", "")}
    carried = [bytes.fromhex(packet[7])[126:] for packet in packets]
    assert carried == [LEVELS, EACH] * 5
