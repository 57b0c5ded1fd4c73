"""tshark reads what the output process really sends, off the wire of loopback."""

import socket
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.output.link import Output
from server.output.plan import ArtNet, ArtSyncTo, Plan, Sacn, UniversePlan
from tests.networks import Interfaces, own_network
from tests.output.ear import at_once
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
    at_once(output, {planned.universe: LEVELS for planned in plan.universes}, EACH)


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
    path = caught(tmp_path / "each.pcap", f"udp dst port {port}", 11, lambda: begin(output, plan))
    packets = fields(
        ("-r", str(path), "-Y", "acn.dmx.universe"),
        *("acn.dmx.seq_number", "acn.dmx.start_code2", "acn.dmx.universe", "acn.dmx.priority"),
        *("acn.dmx.count", "acn.pdu.length", "_ws.malformed", "udp.payload"),
    )
    # The change and three repeats, then a keep-alive, and a list of universes; 221 is START code 0xDD.
    assert [int(packet[1], 0) for packet in packets] == [0, 221] * 5
    assert run_on([packet[0] for packet in packets])
    assert {tuple(packet[2:7]) for packet in packets} == {("279", "77", "513", "622,600,523", "")}
    carried = [bytes.fromhex(packet[7])[126:] for packet in packets]
    assert carried == [LEVELS, EACH] * 5


def test_synchronisation_is_read_off_the_wire(tmp_path: Path, port: int, output: Output) -> None:
    to = (Sacn("127.0.0.1", port),)
    universes = (UniversePlan(1, to), UniversePlan(279, to))
    plan = Plan(str(CID), "Live", None, universes, sync=7962)
    path = caught(tmp_path / "sync.pcap", f"udp dst port {port}", 16, lambda: begin(output, plan))
    packets = fields(
        ("-r", str(path)), "acn.dmx.universe", "acn.dmx.reserved", "acn.dmx.options", "udp.payload"
    )
    data = [packet for packet in packets if packet[0]]
    # The synchronisation address; bit 5 of the options (E1.31-2018, 6.2.6).
    assert {tuple(int(value, 0) for value in packet[1:3]) for packet in data} == {(7962, 0x20)}
    assert {packet[0] for packet in data} == {"1", "279"}
    # tshark 4.0.17 does not read synchronisation: its octets are those of Table 4-2, written by hand.
    head = "001000004153432d45312e3137000000702100000008ef07c8dd00644401a3a2459ef8e6143e700b00000001"
    extended = [
        packet[3] for packet in packets if not packet[0] and bytes.fromhex(packet[3])[40:44] == b"\0\0\0\1"
    ]
    numbers = [bytes.fromhex(octets)[44] for octets in extended]
    assert len(numbers) >= 4
    assert extended == [
        f"{head}{number:02x}1f1a0000" for number in range(numbers[0], numbers[0] + len(numbers))
    ]
    order = "".join("d" if packet[0] else "s" for packet in packets if packet[0] or packet[3] in extended)
    assert order.split("s")[2:-1] == ["dd"] * (len(numbers) - 2)


def test_artsync_is_read_off_the_wire(tmp_path: Path, output: Output) -> None:
    to = (ArtNet("127.0.0.78", port_address=4660),)
    plan = Plan(str(CID), "Live", None, (UniversePlan(1, to),), artnet_sync=(ArtSyncTo("127.0.0.78"),))
    path = caught(tmp_path / "artsync.pcap", "udp and dst host 127.0.0.78", 8, lambda: begin(output, plan))
    packets = fields(
        ("-r", str(path), "-Y", "artnet"),
        *("artnet.header.opcode", "artnet.header.protver", "udp.dstport", "ip.src", "udp.srcport"),
        *("artnet.output.sequence", "udp.length"),
    )
    # Art-Net 4, Table 1: ArtDmx 0x5000 and ArtSync 0x5200, 14 octets and the head of UDP.
    assert [int(packet[0], 0) for packet in packets] == [0x5000, 0x5200] * 4
    assert {tuple(packet[1:3]) for packet in packets} == {("14", "6454")}
    assert len({tuple(packet[3:5]) for packet in packets}) == 1, (
        "a node heeds it from the source of its levels only"
    )
    assert run_on([packet[5] for packet in packets[::2]])
    assert {packet[6] for packet in packets[1::2]} == {"22"}


@pytest.fixture
def network() -> Iterator[Interfaces]:
    """A network of its own: Linux sends no multicast of IPv6 by loopback."""
    with own_network() as interfaces:
        interfaces.add("rig")
        interfaces.give_ipv6("rig", "fd00::5/64")
        yield interfaces


def test_multicast_by_ipv6_is_read_off_the_wire(tmp_path: Path, network: Interfaces) -> None:
    output = Output.start(tmp_path / "data")
    try:
        to = (Sacn(ipv6=socket.if_nametoindex("rig"), priority=77),)
        plan = Plan(str(CID), "Live", None, (UniversePlan(7962, to, per_slot=True),), sync=279)
        sent = "ip6 and udp dst port 5568"
        path = caught(tmp_path / "six.pcap", sent, 14, lambda: begin(output, plan), "rig")
    finally:
        output.end()
    packets = fields(
        ("-r", str(path)),
        *("ipv6.dst", "ipv6.hlim", "acn.dmx.universe", "acn.dmx.priority", "acn.dmx.start_code2"),
        *("acn.pdu.length", "_ws.malformed", "udp.payload"),
    )
    data = [packet for packet in packets if packet[2]]
    # E1.31-2018, Table 9-12: ff 18, ten times 00, 83 00, and the universe: 7962 is 1f1a, 279 is 0117.
    assert {tuple(packet[:4]) for packet in data} == {("ff18::8300:1f1a", "8", "7962", "77")}
    assert {tuple(packet[5:7]) for packet in data} == {("622,600,523", "")}
    assert [int(packet[4], 0) for packet in data[:8]] == [0, 221] * 4
    assert [bytes.fromhex(packet[7])[126:] for packet in data[:2]] == [LEVELS, EACH]
    others = {(packet[0], bytes.fromhex(packet[7])[40:44].hex()) for packet in packets if not packet[2]}
    # Synchronisation to the group of its address, and the list to that of universe 64214 (fad6).
    assert others == {("ff18::8300:117", "00000001"), ("ff18::8300:fad6", "00000002")}
