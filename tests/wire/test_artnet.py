"""What the codec promises. Whether it is right: tests/outside/test_artnet.py."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.wire import artnet
from server.wire.error import WireError

__all__: list[str] = []

REPLY = artnet.PollReply(
    *(
        "10.0.0.20",
        6454,
        0x0102,
        18,
        3,
        0x00FF,
        0,
        0xD2,
        0x7FF0,
        "Port 1",
        "Node on bar 3",
        "#0001 [0042] ok",
        2,
    ),
    port_types=b"\x80\xc0\0\0",
    good_input=b"\0\x80\0\0",
    good_output=b"\x80\x88\0\0",
    sw_in=b"\0\x06\0\0",
    sw_out=b"\x04\x05\0\0",
    acn_priority=100,
    style=artnet.STYLE_NODE,
    mac=b"\2\0\0\0\0\x20",
    bind_ip="10.0.0.20",
    bind_index=2,
    status2=0x1D,
    good_output_b=b"\xc0" * 4,
    status3=0x40,
    refresh_rate=44,
)


def refused(packet: bytes) -> WireError:
    with pytest.raises(WireError) as caught:
        artnet.decode(packet)
    return caught.value


def test_a_reply_reads_back() -> None:
    packet = artnet.encode_poll_reply(REPLY)
    assert len(packet) == 239
    assert artnet.decode(packet) == REPLY


def test_a_reply_names_the_port_addresses_it_serves() -> None:
    assert REPLY.outputs == (4660, 4661)
    assert REPLY.inputs == (4662,)
    assert REPLY.merging == (4661,)


def test_an_unused_port_is_not_port_address_0() -> None:
    assert artnet.PollReply("10.0.0.20").outputs == ()


def test_a_reply_cut_at_207_octets_is_whole_and_at_206_is_not() -> None:
    packet = artnet.encode_poll_reply(REPLY)
    read = artnet.decode(packet[:207])
    assert read == replace(
        REPLY, bind_ip="0.0.0.0", bind_index=0, status2=0, good_output_b=bytes(4), status3=0, refresh_rate=0
    )
    assert refused(packet[:206]).octet == 206


@pytest.mark.parametrize("poll", [artnet.Poll(), artnet.Poll(0x02, 0x10), artnet.Poll(0x20, 0, (4096, 8191))])
def test_a_poll_reads_back(poll: artnet.Poll) -> None:
    assert artnet.decode(artnet.encode_poll(poll)) == poll


def test_targeted_mode_is_set_by_the_target_alone() -> None:
    assert artnet.decode(artnet.encode_poll(artnet.Poll(0x22))) == artnet.Poll(0x02)
    assert artnet.decode(artnet.encode_poll(artnet.Poll(0x02, target=(1, 2)))) == artnet.Poll(
        0x22, target=(1, 2)
    )


def test_levels_are_patched_in_place() -> None:
    packet = artnet.dmx_packet(4660)
    packet[artnet.DMX_SEQUENCE_AT] = 255
    packet[artnet.DMX_SLOTS] = bytes(range(256)) * 2
    read = artnet.decode(bytes(packet))
    assert isinstance(read, artnet.Dmx)
    assert (read.sequence, read.physical, read.port_address) == (255, 0, 4660)
    assert read.slots == bytes(range(256)) * 2


@pytest.mark.parametrize(
    ("at", "octets", "octet"),
    [
        (0, b"Art-Not", 0),
        (11, b"\x0d", 10),
        (15, b"\x80", 15),
        (16, b"\x00\x00", 16),
        (16, b"\x00\x03", 16),
        (16, b"\x02\x02", 16),
    ],
)
def test_broken_levels_are_refused_where_they_break(at: int, octets: bytes, octet: int) -> None:
    packet = artnet.dmx_packet(1)
    packet[at : at + len(octets)] = octets
    assert refused(bytes(packet)).octet == octet


def test_levels_cut_short_are_refused_and_octets_after_them_ignored() -> None:
    packet = bytes(artnet.dmx_packet(1))
    assert refused(packet[:529]).octet == 16
    assert refused(packet[:17]).octet == 17
    assert artnet.decode(packet + b"more") == artnet.decode(packet)


def test_a_sync_reads_back_and_other_packets_are_told_apart() -> None:
    assert artnet.decode(artnet.encode_sync()) == artnet.Sync()
    assert artnet.decode(b"Art-Net\0\x00\x60\0\x0e") == artnet.Other(0x6000)
    assert refused(b"Art-Net\0\x00").octet == 9


def test_a_later_protocol_version_is_read() -> None:
    assert artnet.decode(b"Art-Net\0\x00\x20\x00\x0f\0\0") == artnet.Poll()


@pytest.mark.parametrize(
    "make",
    [
        lambda: artnet.dmx_packet(-1),
        lambda: artnet.dmx_packet(32768),
        lambda: artnet.port_address_from_parts(128, 0, 0),
        lambda: artnet.port_address_from_parts(0, 16, 0),
        lambda: artnet.port_address_from_parts(0, 0, 16),
        lambda: artnet.encode_poll_reply(replace(REPLY, port_name="x" * 18)),
        lambda: artnet.encode_poll_reply(replace(REPLY, long_name="a\0b")),
        lambda: artnet.encode_poll_reply(replace(REPLY, ip="10.0.0")),
        lambda: artnet.encode_poll_reply(replace(REPLY, net=256)),
    ],
)
def test_what_must_never_be_sent_cannot_be_built(make: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"."):
        make()


def test_a_sequence_counts_from_1_to_255_and_never_shows_0() -> None:
    assert [artnet.next_sequence(number) for number in (0, 1, 254, 255)] == [1, 2, 255, 1]


def test_a_port_address_is_shown_both_ways() -> None:
    assert artnet.port_address_text(4660) == "4660 (18:3:4)"


@given(st.binary(max_size=600))
def test_any_bytes_give_a_value_or_a_wire_error(packet: bytes) -> None:
    for datagram in (packet, b"Art-Net\0" + packet):
        with suppress(WireError):
            artnet.decode(datagram)


@given(st.sampled_from([b"\x00\x20", b"\x00\x21", b"\x00\x50", b"\x00\x52"]), st.binary(max_size=600))
def test_any_packet_of_a_known_kind_gives_a_value_or_a_wire_error(op_code: bytes, rest: bytes) -> None:
    with suppress(WireError):
        read = artnet.decode(b"Art-Net\0" + op_code + rest)
        if isinstance(read, artnet.Dmx):
            assert len(read.slots) in range(2, 513, 2)
            assert 0 <= read.port_address <= 32767
