"""A console that sends by IPv6, heard by a running server on a network of its own.

Its packets are built by the sacn package 1.11.0, whose own sender knows IPv4 only, as npm's does; they leave
by a plain socket to the octets of Table 9-12, and tshark reads them on the way.
"""

import socket
import struct
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sacn.messages.data_packet import DataPacket

from server.net.sockets import open_shared
from tests.api.answers import given
from tests.consoles import CID
from tests.networks import Interfaces, own_network
from tests.outside.capture import caught, fields
from tests.phones import Phone
from tests.servers import ENOUGH_S, Server, serving_everywhere

__all__: list[str] = []

HERE, THERE = "10.9.0.5", "10.9.0.9"
PORT = 5568  # E1.31-2018, 9.3: of all multicast


def group_of(universe: int) -> bytes:
    """Table 9-12: ff 18, ten times 00, 83 00, and the universe."""
    return bytes.fromhex("ff18 00000000000000000000 8300") + universe.to_bytes(2, "big")


class Desk(threading.Thread):
    """Sends universe 1 by IPv6, by IPv4, or the same packets by both, 44 times a second, from the far end.

    levels: from the next frame on. sent: how many frames.
    """

    def __init__(self, network: Interfaces) -> None:
        super().__init__(name="desk", daemon=True)
        self.levels = (1, 2, 3)
        self.by = {"IPv6"}
        self.sent = 0
        self.ending = threading.Event()
        self._network = network
        self._packet = DataPacket(tuple(CID.bytes), "Front desk", 1, (), 120, 0)
        self._group = socket.inet_ntop(socket.AF_INET6, group_of(1))
        self._far = socket.socket(socket.AF_INET6, socket.SOCK_DGRAM)
        far = socket.if_nametoindex("rig-far")
        self._far.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, far)
        self._far.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_LOOP, 0)
        self._far.bind(("fe80::9", 0, 0, far))

    def run(self) -> None:
        while not self.ending.wait(1 / 44):
            self._packet.dmxData = self.levels
            self._packet.sequence_increase()
            octets = bytes(self._packet.getBytes())
            if "IPv4" in self.by:
                self._network.arrive("rig", THERE, "239.255.0.1", PORT, octets)  # 9.3.1
            if "IPv6" in self.by:
                self._far.sendto(octets, (self._group, PORT))
            self.sent += 1

    def close(self) -> None:
        """Send nothing more."""
        self.ending.set()
        self.join()
        self._far.close()


class Place:
    """A server with its lead, and what it hears."""

    def __init__(self, server: Server, desk: Desk, network: Interfaces) -> None:
        self.server, self.desk, self.network = server, desk, network
        self.lead: Phone = server.phone("lead")
        self.client = server.client()

    def until(self, true: Any, why: str) -> None:
        deadline = time.monotonic() + ENOUGH_S
        while not true():
            assert time.monotonic() < deadline, f"never came: {why}; {self.heard()} {self.server.log()}"
            time.sleep(0.02)

    def heard(self) -> dict[int, list[dict[str, Any]]]:
        told = given(self.client.get("/api/sources"))
        return {one["universe"]: one["sources"] for one in told["universes"]}

    def frames(self, count: int) -> None:
        until = self.desk.sent + count
        self.until(lambda: self.desk.sent >= until, f"{count} frames of the console")

    def leaves(self) -> list[int]:
        levels: list[int] = given(self.client.get("/api/universes/1"))["slots"][:3]
        return levels


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    with own_network() as network:
        network.add("rig", f"{HERE}/24")
        network.give_ipv6("rig-far", "fe80::9/64")
        data = tmp_path_factory.mktemp("six") / "data"
        desk = Desk(network)
        desk.start()
        try:
            ports = ("--sacn-in-port=5568", "--listen=1")
            with serving_everywhere(data, f"--interface={HERE}", *ports) as server:
                yield Place(server, desk, network)
        finally:
            desk.close()


def test_a_console_by_ipv6_is_heard_before_anything_is_sent_and_followed(
    place: Place, tmp_path: Path
) -> None:
    lead, client = place.lead, place.client
    lead.until(lambda: "join 1" in lead.rig["alerts"], "that it waits")
    assert lead.rig["alerts"]["join 1"]["why"].startswith(
        "Front desk drives universe 1 (sACN, priority 120, since "
    )
    (one,) = place.heard()[1]
    number = socket.if_nametoindex("rig")
    assert (one["id"], one["address"], one["late"]) == (str(CID), f"fe80::9%{number}", 0)
    assert given(client.get("/api/beside"))["ipv6"] is True
    path = caught(tmp_path / "six.pcap", f"ip6 and src host fe80::9 and udp port {PORT}", 5, int, "rig")
    read = fields(("-r", str(path)), "ipv6.dst", "acn.dmx.universe", "acn.dmx.source_name", "_ws.malformed")
    assert read == [["ff18::8300:1", "1", "Front desk", ""]] * 5
    lead.ask("share", universe=1, join="above", follow=True)
    place.until(lambda: place.leaves() == [1, 2, 3], "its levels")


def test_the_same_by_both_is_one_console_and_either_may_fall_silent(place: Place) -> None:
    (before,) = place.heard()[1]
    place.desk.by = {"IPv4", "IPv6"}
    place.frames(10)
    place.desk.levels = (11, 12, 13)
    place.until(lambda: place.leaves() == [11, 12, 13], "a cue by both")
    place.desk.by = {"IPv4"}
    place.desk.levels = (21, 22, 23)
    place.until(lambda: place.leaves() == [21, 22, 23], "a cue by IPv4 alone")
    place.frames(130)  # 3 s: longer than a source may be silent (6.7.1)
    place.until(lambda: place.heard()[1][0]["address"] == THERE, "where it sends from now")
    place.desk.by = {"IPv6"}
    place.desk.levels = (31, 32, 33)
    place.until(lambda: place.leaves() == [31, 32, 33], "a cue by IPv6 alone")
    (one,) = place.heard()[1]
    assert (one["state"], one["late"], one["number"]) == ("live", 0, 1)
    assert one["since_s"] > before["since_s"] + 3, "it never was lost"
    assert "follow 1" not in place.lead.rig["alerts"]


def test_what_we_send_by_ipv6_ourselves_is_no_console(place: Place) -> None:
    outputs = [{"by": "sacn", "to": "multicast6", "number": 200}]
    given(place.client.put("/api/outputs/2", json={"outputs": outputs, "steady": True}))
    with open_shared(PORT, family=socket.AF_INET6) as beside:  # in the same group on the same machine
        beside.settimeout(ENOUGH_S)
        rig = struct.pack("@I", socket.if_nametoindex("rig"))
        beside.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_JOIN_GROUP, group_of(200) + rig)
        ours = 0
        while ours < 20:  # the first a second after, once that number was listened to
            packet = beside.recv(2000)
            ours += packet[22:38] != CID.bytes and packet[113:115] == b"\0\xc8"
    assert [one["name"] for sources in place.heard().values() for one in sources] == ["Front desk"]
    assert "join 2" not in place.lead.rig["alerts"]


def test_a_second_network_is_listened_on_by_the_numbers_that_leave_by_it(place: Place) -> None:
    network, client = place.network, place.client
    network.add("side", "2.0.0.5/24")
    network.give_ipv6("side-far", "fe80::8/64")
    output = {"by": "sacn", "to": "multicast", "interface": "2.0.0.5", "number": 300}
    place.until(lambda: client.put("/api/outputs/3", json={"outputs": [output]}).is_success, "that network")
    packet = DataPacket(tuple(CID.bytes), "Front desk", 300, (), 120, 0)
    with socket.socket(socket.AF_INET6, socket.SOCK_DGRAM) as far:
        side = socket.if_nametoindex("side-far")
        far.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_IF, side)
        far.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_LOOP, 0)
        far.bind(("fe80::8", 0, 0, side))

        def heard() -> bool:
            packet.sequence_increase()
            far.sendto(bytes(packet.getBytes()), (socket.inet_ntop(socket.AF_INET6, group_of(300)), PORT))
            asked = given(client.get("/api/beside"))["universes"]
            here = [one for universe in asked if universe["universe"] == 3 for one in universe["heard"]]
            zone = socket.if_nametoindex("side")
            return [(one["address"], one["number"]) for one in here] == [(f"fe80::8%{zone}", 300)]

        place.until(heard, "a console there")


def test_on_a_network_without_ipv6_consoles_are_heard_by_ipv4_and_that_is_said(place: Place) -> None:
    place.network.switch_off_ipv6("rig")
    place.desk.by, place.desk.levels = {"IPv4"}, (41, 42, 43)
    place.until(lambda: place.leaves() == [41, 42, 43], "a cue by IPv4")
    place.until(lambda: not given(place.client.get("/api/beside"))["ipv6"], "that there is no IPv6")
    assert {"groups", "sacn"} & place.lead.rig["alerts"].keys() == set()
