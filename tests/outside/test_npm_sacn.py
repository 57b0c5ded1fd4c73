"""sACN against the sacn package 4.6.2 (npm): a second builder and reader in another language.

It builds and reads data packets with START code 0 and nothing else, and takes names for ASCII.
"""

import json
import socket
import subprocess
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sacn.messages.data_packet import DataPacket

from server.hearing.sources import Sources
from server.output.link import Output
from server.output.plan import Plan, Sacn, UniversePlan
from server.wire import e131
from tests.needs import node_package
from tests.outside.capture import capture_file, fields

__all__: list[str] = []

CID, OTHER = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e"), uuid.UUID(int=7)
OURS = bytes(16)
LEVELS = bytes(range(256)) * 2


class Node:
    """The package, waiting for questions."""

    def __init__(self) -> None:
        script = Path(__file__).with_name("npm_sacn.js")
        self._process = subprocess.Popen(
            [node_package("sacn"), str(script)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def answer(self) -> Any:
        assert self._process.stdout is not None
        return json.loads(self._process.stdout.readline())

    def ask(self, what: str, **more: object) -> Any:
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps({"what": what, **more}) + "\n")
        self._process.stdin.flush()
        return self.answer()

    def build(self, levels: bytes, **more: object) -> bytes:
        payload = {str(slot): level for slot, level in enumerate(levels, 1)}
        return bytes.fromhex(self.ask("build", payload=payload, **more))

    def read(self, octets: bytes | bytearray) -> Any:
        return self.ask("read", octets=octets.hex())

    def end(self) -> None:
        self._process.communicate()


@pytest.fixture(scope="module")
def node() -> Iterator[Node]:
    made = Node()
    yield made
    made.end()


NAMES = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=63)


@given(
    NAMES,
    st.integers(1, 63999),
    st.integers(1, 200),
    st.integers(0, 255),
    st.binary(min_size=512, max_size=512),
)
def test_what_it_builds_is_read(
    node: Node, name: str, universe: int, priority: int, sequence: int, levels: bytes
) -> None:
    asked = {"universe": universe, "priority": priority, "sequence": sequence}
    read = e131.decode(node.build(levels, sourceName=name, cid=CID.hex, **asked))
    assert isinstance(read, e131.Data)
    assert (read.cid, read.source_name, bytes(read.slots)) == (CID.bytes, name, levels)
    assert (read.universe, read.priority, read.sequence) == (universe, priority, sequence)
    assert (read.sync_address, read.start_code, read.preview, read.terminated) == (0, 0, False, False)


@given(
    NAMES,
    st.integers(1, 63999),
    st.integers(0, 200),
    st.integers(0, 255),
    st.binary(min_size=512, max_size=512),
)
def test_what_we_build_is_read_by_it(
    node: Node, name: str, universe: int, priority: int, sequence: int, levels: bytes
) -> None:
    packet = e131.data_packet(CID.bytes, name, universe, priority)
    packet[e131.SEQUENCE_AT], packet[e131.SLOTS] = sequence, levels
    read = node.read(packet)
    assert (read["cid"], read["name"], read["levels"]) == (CID.hex, name, levels.hex())
    assert (read["universe"], read["priority"], read["sequence"]) == (universe, priority, sequence)
    assert (read["sync"], read["options"], read["count"]) == (0, 0, 513)


def test_octet_for_octet_the_three_builders_agree(node: Node) -> None:
    ours = e131.data_packet(CID.bytes, "Desk", 279, 77)
    ours[e131.SEQUENCE_AT], ours[e131.SLOTS] = 9, LEVELS
    theirs = DataPacket(tuple(CID.bytes), "Desk", 279, tuple(LEVELS), 77, 9)
    npm = node.build(LEVELS, sourceName="Desk", cid=CID.hex, universe=279, priority=77, sequence=9)
    assert bytes(ours) == bytes(theirs.getBytes()) == npm


def test_what_is_no_packet_with_levels_is_refused_by_it(node: Node) -> None:
    # Only to know whom it stands for: a receiver that follows neither synchronisation nor discovery.
    priorities = e131.data_packet(CID.bytes, "Desk", 1)
    priorities[125] = 0xDD
    others = (e131.sync_packet(CID.bytes, 7), e131.discovery_pages(CID.bytes, "Desk", [1])[0], priorities)
    assert [node.read(each) for each in others] == [{"refused": "AssertionError"}] * 3


def test_what_the_output_process_sends_it_receives_in_order(node: Node, tmp_path: Path) -> None:
    port = node.ask("receive", universe=279, count=60)
    output = Output.start(tmp_path)
    try:
        to = (Sacn("127.0.0.1", port, 77),)
        output.set_plan(Plan(str(CID), "Live", None, (UniversePlan(279, to, steady=True),)))
        output.write(279, LEVELS)
        output.wake()
        heard = node.answer()
    finally:
        output.end()
    packets = heard["packets"]
    assert all("8 !== 4" in why for why in heard["wrong"]), "the list of universes, which it does not know"
    first = packets[0]["sequence"]
    assert [one["sequence"] for one in packets] == [(first + n) % 256 for n in range(60)]
    assert {(one["cid"], one["name"], one["priority"], one["levels"]) for one in packets} == {
        (CID.hex, "Live", 77, LEVELS.hex())
    }


def test_what_it_sends_is_heard_and_merged_as_tshark_reads_it(node: Node, tmp_path: Path) -> None:
    # The same capture: one console by the npm package with priority 120, one by the PyPI package with 100.
    frames = [{"1": 10 + n, "2": 255 - n, "512": n + 1} for n in range(5)]
    sources, caught = Sources(OURS), list[bytes]()
    sources.want((279,))
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as ear:
        ear.settimeout(15)
        ear.bind(("127.0.0.1", 0))
        port = ear.getsockname()[1]
        about = {"universe": 279, "port": port, "cid": CID.hex, "name": "Front", "priority": 120}
        assert node.ask("send", frames=frames, **about) == len(frames)
        for sequence in range(len(frames)):
            caught.append(ear.recv(2000))
            theirs = DataPacket(tuple(OTHER.bytes), "Back", 279, (200,) * 512, 100, sequence)
            caught.append(bytes(theirs.getBytes()))
    path = capture_file(tmp_path / "two.pcap", [(packet, 5568) for packet in caught])
    names = ("acn.cid", "acn.dmx.source_name", "acn.dmx.priority", "acn.dmx.seq_number", "udp.payload")
    for at, (packet, shown) in enumerate(zip(caught, fields(("-r", str(path)), *names), strict=True)):
        read = e131.decode(packet)
        assert isinstance(read, e131.Data)
        sources.take_sacn(read, "127.0.0.1", at * 0.02)
        by_us = [str(uuid.UUID(bytes=read.cid)), read.source_name, str(read.priority), str(read.sequence)]
        assert shown[:4] == by_us
        assert bytes.fromhex(shown[4])[126:] == bytes(read.slots)
    now = 0.02 * len(caught)
    told = {one.id: (one.name, one.priority, one.frames, one.late) for one in sources.live(279, now)}
    assert told == {str(CID): ("Front", 120, 5, 0), str(OTHER): ("Back", 100, 5, 0)}
    merged = sources.shown(279, now)
    assert merged is not None
    assert bytes(merged.levels) == bytes([14, 251, *bytes(509), 5])
    assert set(merged.priorities) == {120}
