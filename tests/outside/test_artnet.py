"""Art-Net against published octets: vectors on which several open libraries and a hand-written builder agree.

Source of the layout: the Art-Net 4 specification, document revision 1.4dn, its section beside each check.
"""

import hashlib

import pytest

from server.wire import artnet
from server.wire.error import WireError

__all__: list[str] = []

# Built with the aioartnet package 0.2.1; octets from section ArtPoll.
A1 = bytes.fromhex("4172742d4e6574000020000e0210")
A2 = bytes.fromhex("4172742d4e6574000020000e22101fff10007ff000ff")
# Section ArtDmx; A5 built with the stupidArtnet package 1.6.0.
A3 = bytes.fromhex("4172742d4e6574000050000e010034120004ff800000")
A4 = bytes.fromhex("4172742d4e6574000050000e0000ff7f00020102")
A5 = bytes.fromhex("4172742d4e6574000050000e070001000200") + bytes(
    {1: 255, 2: 128, 3: 1, 279: 42, 512: 7}.get(slot, 0) for slot in range(1, 513)
)
A6 = bytes.fromhex("4172742d4e6574000052000e0000")
# Section ArtPollReply.
A12 = bytes.fromhex(
    "4172742d4e65740000210a00001436190102120300ff00d2f07f506f727420310000000000000000000000004e6f6465"
    "206f6e206261722033000000000000000000000000000000000000000000000000000000000000000000000000000000"
    "0000000000000000000000002330303031205b303034325d206f6b000000000000000000000000000000000000000000"
    "000000000000000000000000000000000000000000000000000000000002808000000000000080880000000000000405"
    "0000640000000000000200000000200a000014011dc0c0c0c0000000000000000000002c0000000000000000000000"
)
A13 = A12[:207]

REPLY = artnet.PollReply(
    ip="10.0.0.20",
    firmware=0x0102,
    net=18,
    sub_net=3,
    status1=0xD2,
    port_name="Port 1",
    long_name="Node on bar 3",
    node_report="#0001 [0042] ok",
    num_ports=2,
    port_types=b"\x80\x80\0\0",
    good_output=b"\x80\x88\0\0",
    sw_out=b"\x04\x05\0\0",
    acn_priority=100,
    mac=b"\2\0\0\0\0\x20",
    bind_ip="10.0.0.20",
    bind_index=1,
    status2=0x1D,
    good_output_b=b"\xc0" * 4,
    refresh_rate=44,
)


def test_the_long_vector_is_the_printed_one() -> None:
    assert (len(A5), hashlib.sha256(A5).hexdigest()[:16]) == (530, "9496d59da00cf0b1")
    assert (len(A12), len(A13)) == (239, 207)


def test_polls_of_ours_are_the_published_ones() -> None:
    # ArtPoll: the fields after DiagPriority are 0 in A1, which a node reads the same as their absence.
    assert artnet.encode_poll(artnet.Poll(2, 0x10))[:14] == A1
    assert artnet.encode_poll(artnet.Poll(2, 0x10, target=(4096, 8191))) == A2


def test_published_polls_are_read() -> None:
    assert artnet.decode(A1) == artnet.Poll(2, 0x10)
    assert artnet.decode(A2) == artnet.Poll(0x22, 0x10, (4096, 8191))


def test_levels_of_ours_are_the_published_ones() -> None:
    packet = artnet.dmx_packet(1)
    packet[artnet.DMX_SEQUENCE_AT] = 7
    packet[artnet.DMX_SLOTS] = A5[18:]
    assert bytes(packet) == A5


@pytest.mark.parametrize(
    ("packet", "sequence", "port_address", "slots"),
    [(A3, 1, 4660, b"\xff\x80\0\0"), (A4, 0, 32767, b"\1\2"), (A5, 7, 1, A5[18:])],
)
def test_published_levels_are_read(packet: bytes, sequence: int, port_address: int, slots: bytes) -> None:
    read = artnet.decode(packet)
    assert isinstance(read, artnet.Dmx)
    assert (read.sequence, read.port_address, bytes(read.slots)) == (sequence, port_address, slots)


def test_sync_is_the_published_one_both_ways() -> None:
    assert artnet.encode_sync() == A6
    assert artnet.decode(A6) == artnet.Sync()


def test_a_reply_of_ours_is_the_published_one() -> None:
    assert artnet.encode_poll_reply(REPLY) == A12


def test_the_published_reply_is_read_field_by_field() -> None:
    assert artnet.decode(A12) == REPLY
    assert REPLY.outputs == (4660, 4661)
    assert REPLY.merging == (4661,)


def test_the_shortest_legal_reply_is_read_with_zeros_for_what_it_lacks() -> None:
    # Minimum Packet Length: 207 octets.
    read = artnet.decode(A13)
    assert isinstance(read, artnet.PollReply)
    assert (read.outputs, read.bind_index, read.status2) == ((4660, 4661), 0, 0)


@pytest.mark.parametrize(
    ("parts", "number", "octets"),
    [
        *(((0, 0, 0), 0, "0000"), ((0, 0, 1), 1, "0100"), ((0, 1, 0), 16, "1000"), ((1, 1, 7), 279, "1701")),
        *(((18, 3, 4), 4660, "3412"), ((127, 15, 15), 32767, "ff7f")),
    ],
)
def test_port_addresses_by_the_table(parts: tuple[int, int, int], number: int, octets: str) -> None:
    # Universe Addressing: Net bits 14-8, Sub-Net 7-4, Universe 3-0; ArtDmx carries SubUni, then Net.
    assert artnet.port_address_from_parts(*parts) == number
    assert artnet.dmx_packet(number)[14:16].hex() == octets


@pytest.mark.parametrize(
    "packet",
    [
        A3[:17],
        A1[:13],
        A12[:206],
        A3.replace(b"\x00\x0e", b"\x00\x0d"),
        A3[:16] + b"\x00\x05" + A3[18:],
        A3[:16] + b"\x04\x00" + A3[18:],
    ],
    ids=["short levels", "short poll", "short reply", "version 13", "more than there is", "low octet first"],
)
def test_what_the_document_does_not_allow_is_refused(packet: bytes) -> None:
    # Minimum Packet Length; ProtVer; ArtDmx, Length: even, 2 to 512, high octet first.
    with pytest.raises(WireError):
        artnet.decode(packet)


def test_constants_are_the_documents() -> None:
    # Protocol Operation; ArtPoll (2.5 to 3 s); Data Merging (10 s).
    assert artnet.PORT == 0x1936
    assert 2.5 <= artnet.POLL_INTERVAL_S <= 3
    assert artnet.MERGE_LOSS_S == 10
