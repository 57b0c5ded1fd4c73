"""A running server's packets as tshark reads them: who sends, which universe, in what order, which levels."""

import uuid
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from tests.outside.capture import capture_file, fields
from tests.servers import Server, serving

__all__: list[str] = []


@pytest.fixture(scope="module")
def caught(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, Path]]:
    """A server that has been used and ended with Ctrl-C, and all it sent, as a capture file."""
    folder = tmp_path_factory.mktemp("wire")
    with serving(folder / "data") as server:
        phone = server.phone("lead")
        for raw in range(0, 256, 15):
            assert phone.ask("slot", universe=2, slot=512, raw=raw)["is"] == "ok"
        server.sacn.until_slot(2, 512, 255)
        # ArtDmx: the Port-Address lies at octet 14, low byte first; slot 512 is the last octet.
        server.artnet.until(lambda: any(p[14] == 2 and p[-1] == 255 for _, p in tuple(server.artnet.heard)))
        server.hang_up()
        assert server.interrupt() == 0
        server.sacn.until(
            lambda: all(sum(p[112] & 0x40 > 0 for _, p in server.sacn.sacn(u)) == 3 for u in (1, 2, 3)),
            "the end",
        )
        packets = [(at, packet, 5568) for at, packet in server.sacn.heard]
        packets += [(at, packet, 6454) for at, packet in server.artnet.heard]
        yield (
            server,
            capture_file(folder / "all.pcap", [(packet, port) for _, packet, port in sorted(packets)]),
        )


def test_sacn_says_who_sends_what_where_and_ends_three_times(caught: tuple[Server, Path]) -> None:
    server, path = caught
    cid = uuid.UUID((server.data / "demo" / "cid").read_text().strip())
    read = fields(
        ("-r", str(path), "-Y", "acn.dmx.universe"),
        *("acn.cid", "acn.dmx.source_name", "acn.dmx.priority", "acn.dmx.universe", "acn.dmx.seq_number"),
        *("acn.dmx.start_code2", "acn.dmx.count", "acn.dmx.option_p", "acn.dmx.option_s", "_ws.malformed"),
        "udp.payload",
    )
    assert {(line[0].lower(), line[1], line[2]) for line in read} == {(str(cid), "focuscall", "100")}
    assert {int(line[3]) for line in read} == {1, 2, 3}
    # E1.31-2018, 6.2.3 and 7.6: 512 slots behind a START code of 0, not marked as preview data.
    assert {(int(line[5], 0), int(line[6], 0), line[7], line[9]) for line in read} == {(0, 513, "0", "")}
    for universe in ("1", "2", "3"):
        mine = [line for line in read if line[3] == universe]
        numbers = [int(line[4], 0) for line in mine]
        assert all((later - earlier) % 256 == 1 for earlier, later in pairwise(numbers))  # 6.7.2
        ended = [line[8] for line in mine]
        assert ended == ["0"] * (len(ended) - 3) + ["1"] * 3  # 6.2.6: three packets
    levels = [bytes.fromhex(line[10])[126 + 511] for line in read if line[3] == "2"]
    assert levels == sorted(levels)
    assert levels[-1] == 255


def test_art_net_goes_to_its_port_addresses_in_order_and_carries_the_same_levels(
    caught: tuple[Server, Path],
) -> None:
    server, path = caught
    read = fields(
        ("-r", str(path), "-Y", "artnet.output"),
        *(
            "artnet.header.opcode",
            "artnet.header.protver",
            "artnet.output.universe",
            "artnet.output.sequence",
        ),
        *("artnet.output.length", "dmx_chan.data_filter", "_ws.malformed"),
    )
    # Art-Net 4, ArtDmx: OpCode 0x5000, protocol version 14 or later, sequence 1 to 255 and then 1 again.
    assert {(int(line[0], 0), int(line[1], 0), int(line[4], 0), line[6]) for line in read} == {
        (0x5000, 14, 512, "")
    }
    assert {int(line[2], 0) for line in read} == {1, 2, 3}
    for port_address in (1, 2, 3):
        mine = [line for line in read if int(line[2], 0) == port_address]
        numbers = [int(line[3], 0) for line in mine]
        assert all(later == earlier % 255 + 1 for earlier, later in pairwise(numbers))
        pictures = [bytes.fromhex(line[5].replace(":", "")) for line in mine]
        assert pictures[-1] == server.sacn.pictures(port_address)[-1]
        assert set(pictures) <= set(server.sacn.pictures(port_address))
