"""Synchronisation as the lead switches it on: what leaves, caught on loopback and read by tshark 4.0.17."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.answers import given
from tests.outside.capture import caught, fields
from tests.servers import Server, serving

__all__: list[str] = []

ARTDMX, ARTSYNC = 0x5000, 0x5200  # Art-Net 4, Table 1
DATA = bytes.fromhex("00000004")  # E1.31-2018, Table 4-1: the root vector of data
# E1.31-2018, Table 4-2: the root and framing vectors of synchronisation, and address 7962.
ROOT, FRAMING, ADDRESS = bytes.fromhex("00000008"), bytes.fromhex("00000001"), bytes.fromhex("1f1a")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(Path(tmp_path_factory.mktemp("sync")) / "data") as running:
        running.sacn.until(lambda: all(running.sacn.sacn(universe) for universe in (1, 2, 3)), "levels")
        yield running


def switch(server: Server, sacn: int, *, artnet: bool, pause_ms: float | None = None) -> None:
    wanted = {"sacn": sacn, "artnet": artnet, "pause_ms": pause_ms}
    assert given(server.client().put("/api/outputs/sync", json=wanted))["sync"] == wanted


def test_artsync_follows_each_frame_to_the_port_that_levels_go_to(server: Server, tmp_path: Path) -> None:
    port = server.artnet.port
    path = caught(
        tmp_path / "artsync.pcap", f"udp dst port {port}", 40, lambda: switch(server, 0, artnet=True)
    )
    packets = fields(
        ("-r", str(path), "-d", f"udp.port=={port},artnet", "-Y", "artnet"),
        *("artnet.header.opcode", "artnet.header.protver", "udp.length", "ip.src", "udp.srcport"),
        "artnet.output.universe",
    )
    codes = [int(packet[0], 0) for packet in packets]
    first = codes.index(ARTSYNC)
    frames, frame = list[list[str]](), list[str]()
    for packet, code in zip(packets[:first], codes, strict=False):
        assert (code, packet[1]) == (ARTDMX, "14")
    for packet, code in zip(packets[first + 1 :], codes[first + 1 :], strict=True):
        if code == ARTSYNC:
            assert (packet[1], packet[2]) == ("14", "22")  # 14 octets and the head of UDP
            frames.append(frame)
            frame = []
        else:
            frame.append(packet[5])
    assert len(frames) >= 5
    # Nothing to show but what comes before it, each universe once; and from one sender, or it is ignored.
    assert all(frame and len(set(frame)) == len(frame) for frame in frames)
    assert len({(packet[3], packet[4]) for packet in packets}) == 1


def test_sacn_is_synchronised_after_each_frame_on_the_address_of_its_levels(
    server: Server, tmp_path: Path
) -> None:
    port = server.sacn.port
    path = caught(
        tmp_path / "sync.pcap", f"udp dst port {port}", 40, lambda: switch(server, 7962, artnet=False)
    )
    packets = fields(("-r", str(path)), "acn.dmx.universe", "acn.dmx.reserved", "udp.payload")
    kinds = list[str]()
    for universe, address, payload in packets:
        octets = bytes.fromhex(payload)
        if octets[18:22] == ROOT and octets[40:44] == FRAMING:
            assert (len(octets), octets[45:47]) == (49, ADDRESS)
            kinds.append("sync")
        elif universe:
            kinds.append(universe if int(address, 0) == 7962 else "before")
    kinds = kinds[kinds.index("sync") + 1 :]
    frames = [frame.split() for frame in " ".join(kinds).split("sync")[:-1]]
    assert len(frames) >= 5
    assert all(frame and len(set(frame)) == len(frame) and "before" not in frame for frame in frames)


def test_the_pause_is_set_while_levels_leave_and_no_packet_is_missing(server: Server, tmp_path: Path) -> None:
    switch(server, 7962, artnet=False, pause_ms=0)
    path = caught(
        tmp_path / "pause.pcap",
        f"udp dst port {server.sacn.port}",
        40,
        lambda: switch(server, 7962, artnet=False, pause_ms=9),
    )
    pauses, began, last = list[float](), 0.0, dict[bytes, int]()
    for time, payload in fields(("-r", str(path)), "frame.time_epoch", "udp.payload"):
        octets = bytes.fromhex(payload)
        if octets[40:44] == FRAMING and octets[18:22] == ROOT:
            pauses.append(float(time) - began)
            began = 0.0
        if octets[18:22] != DATA:
            continue
        began = began or float(time)
        # E1.31-2018, Table 4-1: sequence number 111, options 112 (bit 6: terminated), universe 113-114.
        universe, sequence = octets[113:115], octets[111]
        assert octets[112] & 0x40 == 0
        assert (sequence - last.get(universe, sequence - 1)) % 256 == 1
        last[universe] = sequence
    # Never before its time, which counts from just before the first packet of the frame.
    assert len(pauses) >= 5
    assert min(pauses[-3:]) > 0.0085
