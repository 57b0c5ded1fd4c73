"""What the codec promises. Whether it is right: tests/outside/test_e131.py."""

from collections.abc import Callable
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.wire import e131
from server.wire.error import WireError

__all__: list[str] = []

CID = bytes.fromhex("ef07c8dd00644401a3a2459ef8e6143e")


def data(slots: bytes = bytes(512)) -> bytearray:
    packet = e131.data_packet(CID, "Source_A", 7962, 120)
    packet[e131.SLOTS] = slots
    return packet


def patched(packet: bytes | bytearray, at: int, octets: bytes) -> bytes:
    return bytes(packet[:at]) + octets + bytes(packet[at + len(octets) :])


def refused(packet: bytes) -> WireError:
    with pytest.raises(WireError) as caught:
        e131.decode(packet)
    return caught.value


def test_a_data_packet_reads_back_as_it_was_patched() -> None:
    packet = data(bytes(range(256)) * 2)
    packet[e131.SEQUENCE_AT] = 154
    packet[e131.OPTIONS_AT] = e131.TERMINATED
    read = e131.decode(bytes(packet))
    assert isinstance(read, e131.Data)
    assert (read.cid, read.source_name, read.universe, read.priority) == (CID, "Source_A", 7962, 120)
    assert (read.sequence, read.start_code, read.sync_address) == (154, 0, 0)
    assert (read.preview, read.terminated, read.force_sync) == (False, True, False)
    assert read.slots == bytes(range(256)) * 2


@given(
    st.binary(min_size=0, max_size=512),
    st.dictionaries(st.integers(0, 125), st.integers(0, 255), max_size=2),
    st.dictionaries(st.sampled_from([*range(44, 115), 125]), st.integers(0, 255), max_size=8),
)
def test_a_packet_that_fills_its_datagram_is_read_as_one_that_does_not(
    slots: bytes, wild: dict[int, int], free: dict[int, int]
) -> None:
    # Octets after the end are ignored, and send it the long way round: both ways must read the same.
    packet = data()[:126] + slots
    for at, layer in ((16, 16), (38, 38), (115, 115)):
        packet[at : at + 2] = (0x7000 | len(packet) - layer).to_bytes(2, "big")
    packet[123:125] = (len(slots) + 1).to_bytes(2, "big")
    for at, octet in (free | wild).items():
        packet[at] = octet
    read: list[object] = []
    for each in (bytes(packet), bytes(packet) + b"more"):
        try:
            read.append(e131.decode(each))
        except WireError as error:
            read.append((error.octet, error.clause))
    assert read[0] == read[1]


def test_priority_and_universe_are_patched_in_place() -> None:
    packet = data()
    packet[e131.PRIORITY_AT] = 0
    packet[e131.UNIVERSE_AT] = (63999).to_bytes(2, "big")
    read = e131.decode(bytes(packet))
    assert isinstance(read, e131.Data)
    assert (read.priority, read.universe) == (0, 63999)


@pytest.mark.parametrize(("octet", "counts_as"), [(0, 0), (200, 200), (201, 200), (255, 200)])
def test_a_priority_above_200_counts_as_200_and_stays_readable(octet: int, counts_as: int) -> None:
    read = e131.decode(patched(data(), 108, bytes([octet])))
    assert isinstance(read, e131.Data)
    assert (read.priority, read.sent_priority) == (counts_as, octet)


@pytest.mark.parametrize(
    ("options", "preview", "terminated", "force_sync"),
    [
        (0x80, True, False, False),
        (0x40, False, True, False),
        (0x20, False, False, True),
        (0x1F, False, False, False),
    ],
)
def test_each_option_is_one_bit_and_the_rest_is_ignored(
    options: int, preview: bool, terminated: bool, force_sync: bool
) -> None:
    read = e131.decode(patched(data(), 112, bytes([options])))
    assert isinstance(read, e131.Data)
    assert (read.preview, read.terminated, read.force_sync) == (preview, terminated, force_sync)


def test_a_name_ends_at_its_first_nul_and_never_stops_a_packet() -> None:
    for octets, name in ((b"A\0B", "A"), (b"\xff", "�"), (b"x" * 64, "x" * 64)):
        read = e131.decode(patched(data(), 44, octets.ljust(64, b"\0")))
        assert isinstance(read, e131.Data)
        assert read.source_name == name


def test_octets_after_the_end_are_ignored() -> None:
    assert e131.decode(bytes(data()) + b"more") == e131.decode(bytes(data()))


@pytest.mark.parametrize(
    ("at", "octets", "clause"),
    [
        (0, b"\x00\x11", "5.1"),
        (2, b"\x00\x01", "5.2"),
        (4, b"XSC-E1.17", "5.3"),
        (16, b"\x62\x6e", "5.4"),
        (16, b"\x72\x6f", "5.4"),
        (18, b"\x00\x00\x00\x05", "5.5"),
        (38, b"\x72\x57", "6.1"),
        (40, b"\x00\x00\x00\x03", "6.5"),
        (113, b"\x00\x00", "6.2.7"),
        (113, b"\xfa\x00", "6.2.7"),
        (113, b"\xfa\xd6", "6.2.7"),
        (115, b"\x72\x0a", "7.1"),
        (117, b"\x01", "7.2"),
        (118, b"\xa0", "7.3"),
        (119, b"\x00\x01", "7.4"),
        (121, b"\x00\x00", "7.5"),
        (123, b"\x02\x00", "7.6"),
        (123, b"\x02\x02", "7.6"),
    ],
)
def test_what_a_receiver_must_discard_is_refused_with_its_clause(at: int, octets: bytes, clause: str) -> None:
    error = refused(patched(data(), at, octets))
    assert (error.octet, error.clause) == (at, f"E1.31-2018, {clause}")


@pytest.mark.parametrize("length", [0, 1, 43, 44, 125, 637])
def test_a_packet_cut_short_is_refused(length: int) -> None:
    refused(bytes(data())[:length])


def framed(packet: bytes, inner: tuple[int, ...]) -> bytes:
    """The packet with every length set to what it holds; inner: where the lengths inside the root are."""
    for at in (16, 38, *inner):
        packet = patched(packet, at, (0x7000 | len(packet) - at).to_bytes(2, "big"))
    return packet


@pytest.mark.parametrize(("slots", "legal"), [(0, True), (1, True), (512, True), (513, False)])
def test_zero_to_512_slots_are_read(slots: int, legal: bool) -> None:
    packet = framed((bytes(data()) + b"\0")[: 126 + slots], (115,))
    packet = patched(packet, 123, (1 + slots).to_bytes(2, "big"))
    if not legal:
        assert refused(packet).clause == "E1.31-2018, 7.6"
        return
    read = e131.decode(packet)
    assert isinstance(read, e131.Data)
    assert len(read.slots) == slots


def test_a_consistent_data_packet_without_a_start_code_is_refused() -> None:
    assert refused(framed(bytes(data())[:125], (115,))).octet == 125


def test_a_synchronisation_packet_reads_back() -> None:
    assert e131.decode(bytes(e131.sync_packet(CID, 7962, 111))) == e131.Sync(CID, 111, 7962)


def test_a_synchronisation_packet_has_one_size_and_a_real_address() -> None:
    packet = bytes(e131.sync_packet(CID, 1))
    assert refused(framed(packet + b"\0", ())).clause == "E1.31-2018, 4.2"
    assert refused(patched(packet, 45, b"\0\0")).clause == "E1.31-2018, 6.3.3"


def test_discovery_pages_are_sorted_and_hold_512_each() -> None:
    universes = list(range(1100, 0, -1))
    pages = [e131.decode(page) for page in e131.discovery_pages(CID, "Source_A", universes)]
    assert all(isinstance(page, e131.Discovery) for page in pages)
    read = [page for page in pages if isinstance(page, e131.Discovery)]
    assert [(page.page, page.last_page, len(page.universes)) for page in read] == [
        *((0, 2, 512), (1, 2, 512), (2, 2, 76))
    ]
    assert [universe for page in read for universe in page.universes] == list(range(1, 1101))
    assert universes[0] == 1100, "the caller's list is left alone"
    assert (read[0].cid, read[0].source_name) == (CID, "Source_A")


def test_no_universes_are_no_page() -> None:
    assert e131.discovery_pages(CID, "Source_A", []) == []


@pytest.mark.parametrize(
    ("change", "clause"),
    [
        (lambda page: framed(page[:118], ()), "8.1"),
        (lambda page: patched(page, 112, b"\x70\x08"), "8.1"),
        (lambda page: patched(page, 117, b"\x02"), "8.2"),
        (lambda page: patched(page, 118, b"\x01"), "8.3"),
        (lambda page: framed(page + b"\0", (112,)), "8.5"),
        (lambda page: framed(page[:120] + b"\0\1" * 513, (112,)), "8.5"),
        (lambda page: patched(page, 120, b"\0\0"), "8.5"),
    ],
)
def test_a_broken_discovery_page_is_refused(change: Callable[[bytes], bytes], clause: str) -> None:
    (page,) = e131.discovery_pages(CID, "Source_A", [1, 2])
    assert refused(change(page)).clause == f"E1.31-2018, {clause}"


def test_a_source_name_is_cut_between_characters() -> None:
    assert e131.shorten_source_name("a" * 62 + "é") == "a" * 62
    assert e131.shorten_source_name("a\0b") == "ab"
    assert e131.shorten_source_name("é" * 40) == "é" * 31


@pytest.mark.parametrize(
    "make",
    [
        lambda: e131.data_packet(CID, "x" * 64, 1),
        lambda: e131.data_packet(CID, "a\0b", 1),
        lambda: e131.data_packet(CID, "a", 0),
        lambda: e131.data_packet(CID, "a", 64000),
        lambda: e131.data_packet(CID, "a", 1, 201),
        lambda: e131.data_packet(CID[:15], "a", 1),
        lambda: e131.sync_packet(CID, 0),
        lambda: e131.sync_packet(CID, 1, 256),
        lambda: e131.discovery_pages(CID, "a\0", [1]),
        lambda: e131.discovery_pages(CID, "a", [64000]),
        lambda: e131.multicast_address(0),
        lambda: e131.multicast_address_v6(64000),
    ],
)
def test_what_must_never_be_sent_cannot_be_built(make: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"."):
        make()


def test_every_universe_has_a_group_of_each_kind() -> None:
    assert e131.multicast_address(1) == "239.255.0.1"
    assert e131.multicast_address(e131.DISCOVERY_UNIVERSE) == "239.255.250.214"
    assert e131.multicast_address_v6(63999) == "ff18::8300:f9ff"


@given(st.binary(max_size=1200))
def test_any_bytes_give_a_value_or_a_wire_error(packet: bytes) -> None:
    with suppress(WireError):
        e131.decode(packet)


@given(
    st.sampled_from(
        [bytes(data()), bytes(e131.sync_packet(CID, 9)), *e131.discovery_pages(CID, "n", [1, 2, 300])]
    ),
    st.lists(st.tuples(st.integers(0, 637), st.binary(min_size=1, max_size=4)), max_size=4),
    st.integers(0, 640),
)
def test_a_damaged_packet_gives_a_value_or_a_wire_error(
    packet: bytes, damage: list[tuple[int, bytes]], length: int
) -> None:
    for at, octets in damage:
        packet = patched(packet, at, octets)
    with suppress(WireError):
        read = e131.decode(packet[:length])
        if isinstance(read, e131.Data):
            assert 1 <= read.universe <= 63999
            assert 0 <= read.priority <= 200
            assert len(read.slots) <= 512


@given(st.integers(0, 255), st.integers(-19, 0))
def test_up_to_19_behind_is_late_everywhere_in_the_circle(last: int, behind: int) -> None:
    assert e131.is_late(last, (last + behind) % 256)


@given(st.integers(0, 255), st.integers(1, 236))
def test_anything_else_is_accepted_everywhere_in_the_circle(last: int, ahead: int) -> None:
    assert not e131.is_late(last, (last + ahead) % 256)
