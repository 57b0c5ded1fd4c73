"""Nodes are found, followed and forgotten; a simulated one lives on 127.0.0.2."""

import asyncio
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field, replace
from typing import cast

from hypothesis import given
from hypothesis import strategies as st

from server.net.nodes import Nodes, open_nodes
from server.net.sockets import open_shared
from server.wire import artnet

__all__: list[str] = []

REPLY = artnet.PollReply(
    *("127.0.0.2", 6454),
    net=18,
    sub_net=3,
    port_name="Bar 3",
    num_ports=2,
    port_types=b"\x80\x80\0\0",
    sw_out=b"\4\5\0\0",
    bind_index=1,
)


@dataclass
class Simulated(asyncio.DatagramProtocol):
    """A node that answers polls with its pages."""

    pages: list[artnet.PollReply]
    heard: list[bytes] = field(default_factory=list)

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        self.transport = cast("asyncio.DatagramTransport", transport)

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:
        self.heard.append(data)
        for page in self.pages:
            self.transport.sendto(artnet.encode_poll_reply(page), addr)


@asynccontextmanager
async def simulated(*pages: artnet.PollReply) -> AsyncIterator[tuple[Simulated, tuple[str, int]]]:
    loop = asyncio.get_running_loop()
    node = Simulated(list(pages))
    transport, _ = await loop.create_datagram_endpoint(lambda: node, ("127.0.0.2", 0))
    try:
        yield node, transport.get_extra_info("sockname")
    finally:
        transport.close()
        await asyncio.sleep(0)  # closing takes one turn of the loop


def test_a_node_that_answers_a_poll_is_listed_with_what_it_serves() -> None:
    async def story() -> None:
        change = asyncio.Event()
        async with simulated(REPLY, replace(REPLY, bind_index=2, sw_out=b"\6\7\0\0")) as (node, address):
            nodes = await open_nodes(Nodes([address], change.set), 0, "127.0.0.1")
            polling = asyncio.create_task(nodes.run())
            while len(nodes.all()) < 2:
                await change.wait()
                change.clear()
            polling.cancel()
            with suppress(asyncio.CancelledError):
                await polling
            await nodes.close()
        assert artnet.decode(node.heard[0]) == artnet.Poll(0x02)
        assert [(page.host, page.bind_index) for page in nodes.all()] == [("127.0.0.2", 1), ("127.0.0.2", 2)]
        assert nodes.subscribers(4660) == nodes.subscribers(4663) == ["127.0.0.2"]
        assert nodes.subscribers(0) == []

    asyncio.run(asyncio.wait_for(story(), 10))


def test_a_poll_of_somebody_else_is_answered_by_unicast_as_a_controller() -> None:
    async def story() -> None:
        nodes = await open_nodes(Nodes([], lambda: None, ip="10.1.2.3", name="Näme"), 0, "127.0.0.1")
        loop = asyncio.get_running_loop()
        with open_shared(0, "127.0.0.3") as asking:
            await loop.sock_sendto(asking, artnet.encode_poll(artnet.Poll()), nodes.address)
            reply = artnet.decode(await loop.sock_recv(asking, 1000))
        await nodes.close()
        assert isinstance(reply, artnet.PollReply)
        # Art-Net 4, ArtPollReply: Style 1 is a controller.
        assert (reply.style, reply.ip, reply.long_name, reply.outputs) == (1, "10.1.2.3", "Näme", ())

    asyncio.run(asyncio.wait_for(story(), 10))


def test_answers_arrive_though_the_output_process_has_the_port_too() -> None:
    # The output sends from the Art-Net port: it must not swallow what nodes answer to the one who polls.
    async def story() -> None:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as output:
            output.bind(("", 0))
            output.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            change = asyncio.Event()
            async with simulated(REPLY) as (_, address):
                nodes = await open_nodes(Nodes([address], change.set), output.getsockname()[1])
                nodes.poll()
                await change.wait()
                await nodes.close()
            assert nodes.subscribers(4660) == ["127.0.0.2"]

    asyncio.run(asyncio.wait_for(story(), 10))


def test_asked_elsewhere_it_asks_there_at_once_and_answers_with_its_new_address() -> None:
    async def story() -> None:
        change = asyncio.Event()
        async with simulated(REPLY) as (_, address):
            nodes = await open_nodes(Nodes([], change.set, ip="10.1.2.3"), 0, "127.0.0.1")
            nodes.move([address], "10.1.2.77")
            await change.wait()
            with open_shared(0, "127.0.0.3") as asking:
                loop = asyncio.get_running_loop()
                ours = nodes.address
                await loop.sock_sendto(asking, artnet.encode_poll(artnet.Poll()), ours)
                reply = artnet.decode(await loop.sock_recv(asking, 1000))
            await nodes.close()
        assert isinstance(reply, artnet.PollReply)
        assert reply.ip == "10.1.2.77"
        assert nodes.subscribers(4660) == ["127.0.0.2"]

    asyncio.run(asyncio.wait_for(story(), 10))


class Story:
    """A node list without a socket, on a clock of its own."""

    def __init__(self) -> None:
        self.now = 0.0
        self.changes = 0
        self.levels: list[artnet.Dmx] = []
        self.nodes = Nodes(
            [], self._changed, clock=lambda: self.now, levels=lambda dmx, _: self.levels.append(dmx)
        )

    def _changed(self) -> None:
        self.changes += 1

    def ask_until(self, now: float) -> None:
        """Four polls, the last one then: by it, who was silent has left three without an answer."""
        for before in (3, 2, 1, 0):
            self.now = now - before * artnet.POLL_INTERVAL_S
            self.nodes.poll()

    def hear(self, reply: artnet.PollReply, host: str = "10.0.0.20") -> None:
        self.nodes.datagram_received(artnet.encode_poll_reply(reply), (host, 6454))


def lost(story: Story) -> list[tuple[str, bool]]:
    return [(node.host, node.lost) for node in story.nodes.all()]


def test_a_node_is_lost_after_three_polls_without_an_answer_and_gets_nothing_more() -> None:
    story = Story()
    story.hear(REPLY)
    for now, is_lost in ((2.7, False), (5.4, False), (8.1, False), (10.8, True), (13.5, True)):
        story.now = now
        story.nodes.poll()
        assert lost(story) == [("10.0.0.20", is_lost)]
        assert story.nodes.subscribers(4660) == ([] if is_lost else ["10.0.0.20"])
    assert story.changes == 2
    story.hear(REPLY)
    assert lost(story) == [("10.0.0.20", False)]
    assert story.nodes.subscribers(4660) == ["10.0.0.20"]
    assert story.changes == 3


def test_a_node_that_is_lost_stays_listed_for_the_day_or_until_it_is_forgotten() -> None:
    story = Story()
    for host in ("10.0.0.20", "10.0.0.21"):
        story.hear(REPLY, host)
    story.ask_until(600)
    assert not story.nodes.forget("10.0.0.99")
    assert story.nodes.forget("10.0.0.20")
    assert lost(story) == [("10.0.0.21", True)]
    story.hear(REPLY, "10.0.0.22")
    assert not story.nodes.forget("10.0.0.22"), "it answers"
    story.ask_until(58_000)
    assert lost(story) == [("10.0.0.22", True)]


def test_a_node_that_has_got_another_address_is_not_lost_at_its_old_one() -> None:
    story = Story()
    story.hear(replace(REPLY, mac=b"\2\0\0\0\0\7"), "10.0.0.20")
    story.now = 5
    story.hear(replace(REPLY, mac=b"\2\0\0\0\0\7"), "10.0.0.44")
    story.ask_until(10.8)
    assert lost(story) == [("10.0.0.44", False)]


def test_no_node_is_lost_by_the_time_that_this_laptop_stood_still() -> None:
    story = Story()
    for story.now in (0.0, 2.7, 5.4):
        story.nodes.poll()
        story.hear(REPLY)
    for story.now, is_lost in ((600.0, False), (602.7, False), (605.4, False), (608.1, True)):
        story.nodes.poll()
        assert lost(story) == [("10.0.0.20", is_lost)]


def test_two_nodes_with_one_address_are_both_listed() -> None:
    story = Story()
    for number in (7, 8, 7, 8):
        story.hear(replace(REPLY, mac=bytes([2, 0, 0, 0, 0, number])))
    assert [node.reply.mac[5] for node in story.nodes.all()] == [7, 8]
    assert story.changes == 2


def test_a_new_node_takes_the_place_of_the_one_that_is_longest_lost() -> None:
    story = Story()
    for number in range(1024):
        story.now = number / 1000
        story.hear(REPLY, f"10.0.{number // 250}.{number % 250}")
    story.ask_until(20)
    story.hear(REPLY, "10.9.9.9")
    hosts = [node.host for node in story.nodes.all()]
    assert len(hosts) == 1024
    assert "10.9.9.9" in hosts
    assert "10.0.0.0" not in hosts


def test_a_counting_report_is_no_change_and_another_port_is() -> None:
    story = Story()
    for number in range(3):
        story.hear(replace(REPLY, node_report=f"#0001 [{number:04}] ok"))
    assert story.changes == 1
    story.hear(replace(REPLY, sw_out=b"\6\5\0\0"))
    assert story.changes == 2
    assert story.nodes.subscribers(4662) == ["10.0.0.20"]


def test_levels_go_to_who_answered_whatever_address_the_reply_names() -> None:
    story = Story()
    story.hear(replace(REPLY, ip="192.168.0.1"), "10.0.0.9")
    story.hear(replace(REPLY, ip="192.168.0.1"), "10.0.0.10")
    assert story.nodes.subscribers(4660) == ["10.0.0.9", "10.0.0.10"]


def test_bind_index_0_is_the_root_page_as_1_is() -> None:
    # Art-Net 4, ArtPollReply, BindIndex: 0 and 1 both mean the root device.
    story = Story()
    story.hear(replace(REPLY, bind_index=0))
    story.hear(REPLY)
    assert len(story.nodes.all()) == 1


def test_our_own_reply_is_no_node() -> None:
    story = Story()
    story.nodes.datagram_received(story.nodes._own_reply, ("10.0.0.5", 6454))
    assert story.nodes.all() == []


def test_levels_heard_on_the_port_are_handed_on() -> None:
    story = Story()
    story.nodes.datagram_received(bytes(artnet.dmx_packet(7)), ("10.0.0.30", 6454))
    assert [dmx.port_address for dmx in story.levels] == [7]


def test_a_flood_of_invented_nodes_ends_at_the_cap() -> None:
    story = Story()
    for number in range(1100):
        story.hear(REPLY, f"10.0.{number // 250}.{number % 250}")
    assert len(story.nodes.all()) == 1024


def test_refused_packets_are_counted_by_sender_and_reason() -> None:
    story = Story()
    for _ in range(3):
        story.nodes.datagram_received(b"junk", ("10.0.0.66", 6454))
    assert story.nodes.faults == {("10.0.0.66", "not Art-Net"): 3}
    for number in range(400):
        story.nodes.datagram_received(b"junk", (f"10.1.{number // 250}.{number % 250}", 6454))
    assert len(story.nodes.faults) == 256


@given(st.binary(max_size=300))
def test_whatever_arrives_nothing_is_raised(datagram: bytes) -> None:
    story = Story()
    story.nodes.datagram_received(datagram, ("10.0.0.66", 6454))
    story.nodes.datagram_received(b"Art-Net\0" + datagram, ("10.0.0.66", 6454))
