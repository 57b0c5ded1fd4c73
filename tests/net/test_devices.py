"""Pages of nodes put together to devices with their ports."""

from dataclasses import replace

from server.net.devices import Port, devices
from server.net.nodes import Node
from server.wire import artnet

__all__: list[str] = []

# Fields as Art-Net 4, ArtPollReply, gives them: two outputs at 18:3:4 and 18:3:5, the second one merging.
REPLY = artnet.PollReply(
    "10.0.0.20",
    firmware=0x0102,
    net=18,
    sub_net=3,
    port_name="Bar 3",
    long_name="Node on bar 3",
    num_ports=2,
    port_types=b"\x80\x80\0\0",
    good_output=b"\x80\x88\0\0",
    sw_out=b"\4\5\0\0",
    mac=b"\2\0\0\0\0\x2a",
    bind_index=1,
    status3=0x20,
)


def node(reply: artnet.PollReply = REPLY, host: str = "10.0.0.20", seen_s: float = 0.0) -> Node:
    return Node(host, reply.bind_index or 1, reply, seen_s)


def test_a_page_is_a_device_with_its_names_and_ports() -> None:
    (it,) = devices([node()])
    assert (it.host, it.mac, it.name, it.long_name) == (
        "10.0.0.20",
        "02:00:00:00:00:2a",
        "Bar 3",
        "Node on bar 3",
    )
    assert (it.firmware, it.failsafe, it.lost) == ("1.2", "hold", False)
    assert it.ports == (
        Port(1, 1, True, 4660, has_data=True),
        Port(1, 2, True, 4661, has_data=True, merges=True),
    )
    assert it.outputs == {4660, 4661}


def test_a_reply_of_the_shortest_length_says_nothing_of_failsafe() -> None:
    # Art-Net 4, Minimum Packet Length: 207 octets; Status3 is octet 217.
    packet = artnet.encode_poll_reply(replace(REPLY, status3=0x60))
    whole, short = artnet.decode(packet), artnet.decode(packet[:207])
    assert isinstance(whole, artnet.PollReply)
    assert isinstance(short, artnet.PollReply)
    assert [devices([node(reply)])[0].failsafe for reply in (whole, short)] == ["zero", None]
    # Status3 bit 5 clear: it cannot be set, so bits 7-6 say nothing.
    assert devices([node(replace(REPLY, status3=0x40))])[0].failsafe is None


def test_pages_of_one_device_are_one_and_seen_when_the_newest_was() -> None:
    second = replace(REPLY, bind_index=2, sw_out=b"\6\7\0\0")
    (it,) = devices([node(seen_s=3), node(second, seen_s=4)])
    assert it.seen_s == 4
    assert [(port.bind_index, port.port_address) for port in it.ports] == [
        (1, 4660),
        (1, 4661),
        (2, 4662),
        (2, 4663),
    ]


def test_what_a_port_says_of_itself() -> None:
    # GoodOutputA: bit 2 short circuit, bit 1 newest wins, bit 0 fed by sACN; GoodInput: bit 2 errors, bit 0
    # sent on as sACN; PortTypes: bit 6 an input.
    reply = replace(
        REPLY, port_types=b"\x80\x80\x40\xc0", good_output=b"\4\x0a\0\1", good_input=b"\0\0\x81\4"
    )
    (it,) = devices([node(reply)])
    assert it.ports == (
        Port(1, 1, True, 4660, has_fault=True),
        Port(1, 2, True, 4661, merges=True, latest=True),
        Port(1, 3, False, 4656, has_data=True, by_sacn=True),
        Port(1, 4, True, 4656, by_sacn=True),
        Port(1, 4, False, 4656, has_fault=True),
    )
    assert it.outputs == {4660, 4661}, "what follows sACN turns no Art-Net into light"


def test_devices_come_by_address_as_numbers() -> None:
    found = devices([node(host=host) for host in ("10.0.0.9", "10.0.0.10", "2.0.0.1")])
    assert [one.host for one in found] == ["2.0.0.1", "10.0.0.9", "10.0.0.10"]
