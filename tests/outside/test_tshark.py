"""tshark reads our packets: an independent decoder of positions and values, though no validator."""

import uuid
from pathlib import Path

from sacn.messages.data_packet import DataPacket

from server.wire import artnet, e131
from tests.outside.capture import capture_file, fields

__all__: list[str] = []

CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e")
LEVELS = bytes(range(256)) * 2


def test_sacn_data_is_read_with_every_value_in_its_place(tmp_path: Path) -> None:
    packet = e131.data_packet(CID.bytes, "Source_A", 7962, 120)
    packet[e131.SLOTS] = LEVELS
    packet[e131.SEQUENCE_AT] = 154
    ending = bytearray(packet)
    ending[e131.OPTIONS_AT] |= e131.TERMINATED
    path = capture_file(tmp_path / "sacn.pcap", [(bytes(packet), 5568), (bytes(ending), 5568)])
    read, terminated = fields(
        ("-r", str(path)),
        *("acn.preamble_size", "acn.postamble_size", "acn.packet_identifier", "acn.pdu.length"),
        *("acn.protocol_id", "acn.cid", "acn.dmx_vector", "acn.dmx.source_name", "acn.dmx.priority"),
        *("acn.dmx.reserved", "acn.dmx.seq_number", "acn.dmx.option_p", "acn.dmx.option_s"),
        *("acn.dmx.universe", "acn.dmp_vector", "acn.dmx.first_property_address", "acn.dmx.increment"),
        *("acn.dmx.count", "acn.dmx.start_code2", "_ws.malformed", "udp.payload"),
    )
    # E1.31-2018, Table 4-1, with the lengths of a full packet: 622, 600 and 523.
    assert read[:5] == ["16", "0", "ASC-E1.17", "622,600,523", "4"]
    assert [text.lower() for text in read[5:9]] == [str(CID), "2", "source_a", "120"]
    assert [int(text, 0) for text in read[9:19]] == [0, 154, 0, 0, 7962, 2, 0, 1, 513, 0]
    assert read[19] == ""
    assert bytes.fromhex(read[20])[126:] == LEVELS
    assert (terminated[11], terminated[12]) == ("0", "1")


def test_what_a_console_sends_is_read_by_both_of_us_alike(tmp_path: Path) -> None:
    # Built by the sacn package 1.11.0: neither reader has made these.
    built = []
    for at, (priority, start_code, options) in enumerate(
        ((90, 0, 0), (200, 0xDD, 0), (0, 0, 0x80), (7, 0, 0x60))
    ):
        one = DataPacket(tuple(CID.bytes), f"Desk {at}", 63999 - at, tuple(LEVELS), priority, 250 + at)
        one.dmxStartCode, one.syncAddr = start_code, at
        octets = bytearray(one.getBytes())
        octets[112] = options  # E1.31-2018, Table 4-1
        built.append(bytes(octets))
    path = capture_file(tmp_path / "consoles.pcap", [(packet, 5568) for packet in built])
    told = fields(
        ("-r", str(path)),
        *("acn.cid", "acn.dmx.source_name", "acn.dmx.priority", "acn.dmx.reserved", "acn.dmx.seq_number"),
        *("acn.dmx.options", "acn.dmx.universe", "acn.dmx.count", "acn.dmx.start_code2"),
    )
    for packet, theirs in zip(built, told, strict=True):
        ours = e131.decode(packet)
        assert isinstance(ours, e131.Data)
        flags = ours.preview << 7 | ours.terminated << 6 | ours.force_sync << 5
        numbers = [ours.priority, ours.sync_address, ours.sequence, flags, ours.universe]
        assert (uuid.UUID(bytes=ours.cid), ours.source_name) == (uuid.UUID(theirs[0]), theirs[1])
        assert [*numbers, len(ours.slots) + 1, ours.start_code] == [int(text, 0) for text in theirs[2:]]


def test_art_net_levels_are_read_whole(tmp_path: Path) -> None:
    packet = artnet.dmx_packet(4660)
    packet[artnet.DMX_SEQUENCE_AT] = 255
    packet[artnet.DMX_SLOTS] = LEVELS
    path = capture_file(tmp_path / "levels.pcap", [(bytes(packet), 6454)])
    (read,) = fields(
        ("-r", str(path)),
        *("artnet.header.opcode", "artnet.header.protver", "artnet.output.sequence"),
        *("artnet.output.physical", "artnet.output.universe", "artnet.output.length", "dmx_chan.data_filter"),
        "_ws.malformed",
    )
    # Art-Net 4, ArtDmx; tshark gives the universe as the 15-bit Port-Address.
    assert [int(text, 0) for text in read[:6]] == [0x5000, 14, 255, 0, 4660, 512]
    assert bytes.fromhex(read[6].replace(":", "")) == LEVELS
    assert read[7] == ""


def test_art_net_polls_and_replies_are_read(tmp_path: Path) -> None:
    reply = artnet.PollReply(
        "10.0.0.20",
        net=0x12,
        sub_net=3,
        port_name="Port 1",
        long_name="Node on bar 3",
        num_ports=2,
        port_types=b"\x80\x80\0\0",
        sw_out=b"\4\5\0\0",
        bind_index=1,
        style=artnet.STYLE_CONTROLLER,
    )
    poll = artnet.encode_poll(artnet.Poll(0x02, 0x10, (4096, 8191)))
    path = capture_file(tmp_path / "poll.pcap", [(poll, 6454), (artnet.encode_poll_reply(reply), 6454)])
    asked, answered = fields(
        ("-r", str(path)),
        *("artnet.header.opcode", "artnet.poll.talktome", "artnet.poll.target_port_top"),
        *("artnet.poll.target_port_bottom", "artnet.poll_reply.ip_address", "artnet.poll_reply.port_nr"),
        *("artnet.poll_reply.netswitch", "artnet.poll_reply.subswitch", "artnet.poll_reply.esta_man"),
        *("artnet.poll_reply.short_name", "artnet.poll_reply.long_name", "artnet.poll_reply.num_ports"),
        *("artnet.poll_reply.swout_1_universe", "artnet.poll_reply.style", "artnet.poll_reply.bind_index"),
        "_ws.malformed",
    )
    # Art-Net 4, ArtPoll and ArtPollReply.
    assert [int(text, 0) for text in asked[:4]] == [0x2000, 0x22, 8191, 4096]
    assert answered[4] == "10.0.0.20"
    assert [int(answered[at], 0) for at in (0, 5, 6, 7, 8)] == [0x2100, 6454, 0x12, 3, 0x7FF0]
    assert answered[9:11] == ["Port 1", "Node on bar 3"]
    assert [int(answered[at], 0) for at in (11, 12, 13, 14)] == [2, 4660, 1, 1]
    assert asked[15] == answered[15] == ""
