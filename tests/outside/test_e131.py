"""sACN against the octets of ANSI E1.31-2018, and packets built by others read by us.

The vectors were built with the sacn package 1.11.0 and by a second, hand-written builder, octet for octet the
same, and read back by tshark 4.0.17. Where a packet is too long to print, its SHA-256 begins as given.
"""

import hashlib
import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sacn.messages.data_packet import DataPacket
from sacn.messages.sync_packet import SyncPacket
from sacn.messages.universe_discovery import UniverseDiscoveryPacket

from server.wire import e131
from server.wire.error import WireError

__all__: list[str] = []

# The example CID of E1.31-2018, Appendix B.
CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e").bytes

V1_HEAD = bytes.fromhex(
    "001000004153432d45312e3137000000726e00000004ef07c8dd00644401a3a2459ef8e6143e725800000002536f7572"
    "63655f410000000000000000000000000000000000000000000000000000000000000000000000000000000000000000"
    "000000000000000000000000641f1a9a000001720b02a100000001020100"
)
V1 = V1_HEAD + bytes({1: 255, 2: 128, 3: 1, 279: 42, 512: 7}.get(slot, 0) for slot in range(1, 513))
V2 = bytes.fromhex(
    "001000004153432d45312e3137000000708600000004ef07c8dd00644401a3a2459ef8e6143e70700000000253000000"
    "000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000"
    "00000000000000000000000064000018000001702302a1000000010019000102030405060708090a0b0c0d0e0f101112"
    "131415161718"
)
V3 = bytes.fromhex(
    "001000004153432d45312e3137000000702100000008ef07c8dd00644401a3a2459ef8e6143e700b000000016f1f1a0000"
)
V4 = bytes.fromhex(
    "001000004153432d45312e3137000000707200000008ef07c8dd00644401a3a2459ef8e6143e705c00000002536f7572"
    "63655f410000000000000000000000000000000000000000000000000000000000000000000000000000000000000000"
    "0000000000000000000000000000000070120000000100000001000201171f1af9ff"
)


def digest(packet: bytes | bytearray) -> str:
    return hashlib.sha256(packet).hexdigest()[:16]


def patched(packet: bytes, changes: dict[int, str]) -> bytes:
    copy = bytearray(packet)
    for at, octets in changes.items():
        copy[at : at + len(octets) // 2] = bytes.fromhex(octets)
    return bytes(copy)


V5 = patched(V4, {16: "7068", 38: "7052", 112: "7008"})[:120]
V6 = patched(V5, {16: "7468", 38: "7452", 112: "7408"}) + b"".join(
    n.to_bytes(2, "big") for n in range(1, 513)
)


def test_the_vectors_are_the_printed_ones() -> None:
    assert (len(V1), digest(V1)) == (638, "6627e94f43e82a01")
    assert (len(V2), len(V3), len(V4)) == (150, 49, 130)
    assert (len(V5), digest(V5)) == (120, "266c1773b05cdb98")
    assert (len(V6), digest(V6)) == (1144, "fcc5a3a7f5543af8")


def test_a_data_packet_of_ours_is_the_published_one_but_for_the_sync_address() -> None:
    # E1.31-2018, Table 4-1. The output sends no synchronisation address: octets 109-110 are 0 there.
    packet = e131.data_packet(CID, "Source_A", 1)
    packet[e131.SLOTS] = V1[126:]
    packet[e131.SEQUENCE_AT] = 154
    assert bytes(packet) == patched(V1, {109: "0000"})


def test_a_terminated_packet_of_ours_is_the_published_one() -> None:
    packet = e131.data_packet(CID, "Source_A", 63999, 200)
    packet[e131.SLOTS] = V1[126:]
    packet[e131.SEQUENCE_AT] = 255
    packet[e131.OPTIONS_AT] |= e131.TERMINATED
    assert digest(packet) == "4c50b6704632d3bf"


def test_a_sync_packet_of_ours_is_the_published_one() -> None:
    # E1.31-2018, Table 4-2.
    assert bytes(e131.sync_packet(CID, 7962, 111)) == V3


def test_a_discovery_page_of_ours_is_the_published_one() -> None:
    # E1.31-2018, Table 4-3.
    assert e131.discovery_pages(CID, "Source_A", [63999, 7962, 279, 2, 1]) == [V4]
    assert e131.discovery_pages(CID, "Source_A", range(1, 513)) == [V6]


def test_the_published_data_packet_is_read_field_by_field() -> None:
    read = e131.decode(V1)
    assert isinstance(read, e131.Data)
    assert (read.cid, read.source_name, read.priority, read.sync_address) == (CID, "Source_A", 100, 7962)
    assert (read.sequence, read.universe, read.start_code) == (154, 1, 0)
    assert (read.preview, read.terminated, read.force_sync) == (False, False, False)
    lit = {slot: level for slot, level in enumerate(read.slots, 1) if level}
    assert lit == {1: 255, 2: 128, 3: 1, 279: 42, 512: 7}


def test_the_published_variants_are_read() -> None:
    preview = patched(V1, {108: "00", 109: "0000", 111: "00", 112: "a0", 113: "0100"})
    assert digest(preview) == "67f98c7e90df7dc0"
    read = e131.decode(preview)
    assert isinstance(read, e131.Data)
    assert (read.preview, read.force_sync, read.terminated) == (True, True, False)
    assert (read.universe, read.priority, read.sequence) == (256, 0, 0)

    slots = bytes({1: 1, 2: 200, 279: 150}.get(slot, 0) for slot in range(1, 513))
    priorities = patched(V1, {109: "0000", 111: "9b", 125: "dd"})[:126] + slots
    assert digest(priorities) == "8ab65e124d5285f4"
    read = e131.decode(priorities)
    assert isinstance(read, e131.Data)
    assert read.start_code == 0xDD


def test_the_published_short_packet_sync_and_discovery_are_read() -> None:
    short = e131.decode(V2)
    assert isinstance(short, e131.Data)
    assert (short.source_name, short.sequence, bytes(short.slots)) == ("S", 24, bytes(range(1, 25)))
    assert e131.decode(V3) == e131.Sync(CID, 111, 7962)
    assert e131.decode(V4) == e131.Discovery(CID, "Source_A", 0, 0, (1, 2, 279, 7962, 63999))
    assert e131.decode(V5) == e131.Discovery(CID, "Source_A", 0, 0, ())
    assert e131.decode(V6) == e131.Discovery(CID, "Source_A", 0, 0, tuple(range(1, 513)))


# Octets that must be as the standard prints them (E1.31-2018, Tables 4-1 to 4-3, clauses 5 to 8).
FIXED_IN_DATA = [*range(22), *range(38, 44), *range(115, 125)]
FIXED_IN_SYNC = [*range(22), *range(38, 44)]
FIXED_IN_DISCOVERY = [*range(22), *range(38, 44), *range(112, 118)]


def clause_refused(packet: bytes) -> str | None:
    try:
        e131.decode(packet)
    except WireError as error:
        return error.clause.split()[-1]
    return None


@pytest.mark.parametrize(
    ("packet", "fixed"),
    [
        *((V1, FIXED_IN_DATA), (V2, FIXED_IN_DATA), (V3, FIXED_IN_SYNC)),
        *((V4, FIXED_IN_DISCOVERY), (V5, FIXED_IN_DISCOVERY), (V6, FIXED_IN_DISCOVERY)),
    ],
    ids=["V1", "V2", "V3", "V4", "V5", "V6"],
)
def test_every_octet_is_either_as_printed_or_the_packet_is_refused(packet: bytes, fixed: list[int]) -> None:
    for at in range(min(len(packet), 130)):
        changed = patched(packet, {at: f"{packet[at] ^ 0x01:02x}"})
        if at in fixed:
            with pytest.raises(WireError):
                e131.decode(changed)
        else:
            # What is left are numbers: a universe of 0 or above 63999, a page after the last one.
            assert clause_refused(changed) in {None, "6.2.7", "6.3.3", "8.3", "8.5"}, at


@pytest.mark.parametrize("packet", [V1, V2, V3, V4, V6])
def test_a_packet_cut_anywhere_is_refused(packet: bytes) -> None:
    for length in range(len(packet)):
        with pytest.raises(WireError):
            e131.decode(packet[:length])


@pytest.mark.parametrize(
    ("last", "new", "late"),
    [
        *((100, 101, False), (100, 100, True), (100, 99, True), (100, 81, True), (100, 80, False)),
        *((255, 0, False), (0, 255, True), (5, 242, True), (5, 241, False), (0, 128, False)),
    ],
)
def test_sequence_numbers_by_the_table(last: int, new: int, late: bool) -> None:
    # E1.31-2018, 6.7.2: discard when -20 < new - last <= 0, signed 8-bit; the pairs were worked by hand.
    assert e131.is_late(last, new) is late


def test_groups_of_the_worked_example() -> None:
    # E1.31-2018, Appendix B: universe 7962 on 239.255.31.26; IPv6 by the octets of Table 9-12.
    assert e131.multicast_address(7962) == "239.255.31.26"
    assert e131.multicast_address(64214) == "239.255.250.214"
    assert e131.multicast_address_v6(7962) == "ff18::8300:1f1a"


def test_constants_are_appendix_a() -> None:
    # E1.31-2018, Appendix A and the clauses beside them.
    assert (e131.PORT, e131.DISCOVERY_UNIVERSE, e131.DISCOVERY_INTERVAL_S) == (5568, 64214, 10)
    assert (e131.LOSS_S, e131.MAX_PRIORITY, e131.TERMINATE_PACKETS) == (2.5, 200, 3)


@pytest.mark.parametrize("terminated", [False, True])
def test_packets_built_by_the_sacn_package_are_read(terminated: bool) -> None:
    theirs = DataPacket(
        tuple(CID), "Näme", 279, tuple(range(256)) * 2, 77, 9, terminated, previewData=True, sync_universe=5
    )
    read = e131.decode(bytes(theirs.getBytes()))
    assert isinstance(read, e131.Data)
    assert (read.source_name, read.universe, read.priority, read.sequence) == ("Näme", 279, 77, 9)
    assert (read.terminated, read.preview, read.sync_address) == (terminated, True, 5)
    assert bytes(read.slots) == bytes(range(256)) * 2
    assert e131.decode(bytes(SyncPacket(tuple(CID), 5, 8).getBytes())) == e131.Sync(CID, 8, 5)
    page = UniverseDiscoveryPacket(tuple(CID), "Näme", (3, 1))
    assert e131.decode(bytes(page.getBytes())) == e131.Discovery(CID, "Näme", 0, 0, (1, 3))


@given(
    name=st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=15),
    universe=st.integers(1, 63999),
    levels=st.lists(st.integers(0, 255), max_size=512),
    numbers=st.tuples(st.integers(0, 200), st.integers(0, 255), st.integers(0, 63999)),
    flags=st.tuples(st.booleans(), st.booleans(), st.booleans()),
    start_code=st.sampled_from([0x00, 0xDD, 0x17, 0xFF]),
)
def test_whatever_the_sacn_package_builds_is_read_with_the_same_values(
    name: str,
    universe: int,
    levels: list[int],
    numbers: tuple[int, int, int],
    flags: tuple[bool, bool, bool],
    start_code: int,
) -> None:
    priority, sequence, sync_address = numbers
    theirs = DataPacket(tuple(CID), name, universe, tuple(levels), priority, sequence)
    theirs.option_PreviewData, theirs.option_StreamTerminated, theirs.option_ForceSync = flags
    theirs.syncAddr, theirs.dmxStartCode = sync_address, start_code
    read = e131.decode(bytes(theirs.getBytes()))
    assert isinstance(read, e131.Data)
    assert (read.cid, read.source_name, read.universe, read.start_code) == (CID, name, universe, start_code)
    assert (read.priority, read.sent_priority, read.sequence, read.sync_address) == (priority, *numbers)
    assert (read.preview, read.terminated, read.force_sync) == flags
    assert tuple(read.slots) == theirs.dmxData


def test_packets_of_ours_are_read_by_the_sacn_package() -> None:
    packet = e131.data_packet(CID, "Näme", 279, 77)
    packet[e131.SLOTS] = bytes(range(256)) * 2
    packet[e131.SEQUENCE_AT] = 9
    theirs = DataPacket.make_data_packet(tuple(packet))
    assert (theirs.universe, theirs.priority, theirs.sequence, theirs.sourceName) == (279, 77, 9, "Näme")
    assert theirs.dmxData == tuple(range(256)) * 2
