"""A whole server while its network changes: real interfaces, in a network of their own that leads nowhere."""

import socket
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from sacn.messages.data_packet import DataPacket

from server.net.sockets import open_shared
from server.output.shared_map import SharedMap
from server.wire import artnet, e131
from tests import mdns
from tests.networks import Interfaces, own_network
from tests.nodes import reply
from tests.phones import Phone
from tests.servers import ENOUGH_S
from tests.servers import serving_everywhere as serving

__all__: list[str] = []

HERE, MOVED = "10.9.0.5", "10.9.0.77"
CONSOLE = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e")


@pytest.fixture
def network() -> Iterator[Interfaces]:
    with own_network() as interfaces:
        interfaces.add("rig", f"{HERE}/24")
        yield interfaces


def until(true: Callable[[], object], why: Callable[[], object]) -> None:
    deadline = time.monotonic() + ENOUGH_S
    while not true():
        assert time.monotonic() < deadline, why()
        time.sleep(0.02)


def told(phone: Phone) -> str:
    """What that phone has been told of the network."""
    return str(phone.rig["alerts"].get("network", {"why": ""})["why"])


def sender_of_levels(interface: str) -> str:
    """Where the next packet of universe 1 comes from, heard by multicast on that interface."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as heard:
        heard.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        heard.bind(("239.255.0.1", 5568))  # E1.31-2018, 9.3.1
        asked = socket.inet_aton("239.255.0.1") + socket.inet_aton(interface)
        heard.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, asked)
        heard.settimeout(ENOUGH_S)
        while True:
            octets, (sender, _) = heard.recvfrom(2000)
            if isinstance(e131.decode(octets), e131.Data):
                return str(sender)


def test_a_laptop_that_gets_another_address_is_followed_by_everybody(
    tmp_path: Path, network: Interfaces
) -> None:
    with serving(tmp_path / "data") as server:
        lead = server.phone("lead")
        health = server.client(None)
        assert sender_of_levels(HERE) == HERE
        assert health.get("/api/health").json()["interface"] == f"{HERE} (rig)"
        lead.until(lambda: lead.rig["laptop"]["name"], "the name")
        page = f"http://{HERE}:{server.port}/"
        assert lead.rig["laptop"] == {"pages": [page], "name": f"http://focuscall.local:{server.port}/"}
        until(lambda: mdns.ask("focuscall.local", HERE, 0.5) == [HERE], server.log)

        network.take("rig", f"{HERE}/24")
        lead.until(lambda: "is gone since" in told(lead), "that it is gone")
        assert health.get("/api/health").json()["status"] == "troubled"
        network.give("rig", f"{MOVED}/24")
        lead.until(lambda: f"{MOVED} (rig) since" in told(lead), "where it is now")
        assert sender_of_levels(MOVED) == MOVED
        until(lambda: health.get("/api/health").json()["status"] == "ok", server.log)
        assert health.get("/api/health").json()["interface"] == f"{MOVED} (rig)"
        lead.until(lambda: lead.rig["laptop"]["pages"] == [f"http://{MOVED}:{server.port}/"], "the page")
        until(lambda: mdns.ask("focuscall.local", MOVED, 0.5) == [MOVED], server.log)
        lead.until(lambda: "output" not in lead.rig["alerts"], "that nothing is wrong any more")

        printed = server.log()
        assert "This laptop has a new address." in printed
        assert printed.count(f"http://{MOVED}:{server.port}/") == 1
        assert printed.count("▀") > 0, "the code again"
        with mdns.listening(MOVED) as heard:
            assert server.interrupt() == 0
            until(lambda: any(b"focuscall" in packet for packet in heard), lambda: heard)
        assert mdns.ask("focuscall.local", MOVED, 0.5) == []


def test_a_cable_that_is_pulled_and_plugged_is_told_and_light_elsewhere_goes_on(
    tmp_path: Path, network: Interfaces
) -> None:
    with serving(tmp_path / "data", f"--interface={HERE}") as server:
        lead = server.phone("lead")
        lead.until(lambda: "network" not in lead.rig["alerts"], "nothing to tell")
        network.pull("rig")
        lead.until(lambda: f"{HERE} (rig), which is gone since" in told(lead), "that it is gone")
        network.plug("rig")
        lead.until(lambda: f"{HERE} (rig) is back since" in told(lead), "that it is back")
        assert sender_of_levels(HERE) == HERE
        assert "new address" not in server.log(), "it has the one that is in the welcome"


class _Node(threading.Thread):
    """An Art-Net node at one end of the cable: answers polls, wants universe 1, remembers who polled."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self._socket = open_shared(artnet.PORT)
        self._socket.settimeout(0.02)
        reply = artnet.PollReply(
            "0.0.0.0", num_ports=1, port_types=bytes([0x80, 0, 0, 0]), sw_out=bytes([1, 0, 0, 0]), status2=8
        )
        self._reply = artnet.encode_poll_reply(reply)
        self.polls: list[str] = []
        self.ending = False

    def run(self) -> None:
        while not self.ending:
            with suppress(TimeoutError, OSError):
                data, sender = self._socket.recvfrom(2000)
                if isinstance(artnet.decode(data), artnet.Poll):
                    self.polls.append(sender[0])
                    self._socket.sendto(self._reply, sender)
        self._socket.close()


def test_nodes_are_looked_for_from_the_new_address(tmp_path: Path, network: Interfaces) -> None:
    node = _Node()
    node.start()
    try:
        with serving(tmp_path / "data") as server:
            until(lambda: HERE in node.polls, server.log)
            crew = server.client("crew")
            until(lambda: crew.get("/api/nodes").json()["nodes"], server.log)
            network.take("rig", f"{HERE}/24")
            network.give("rig", f"{MOVED}/24")
            until(lambda: MOVED in node.polls, server.log)
            until(lambda: MOVED in [n["host"] for n in crew.get("/api/nodes").json()["nodes"]], server.log)
    finally:
        node.ending = True
        node.join()


def test_a_laptop_without_a_network_takes_the_first_that_comes(tmp_path: Path) -> None:
    with own_network() as network, serving(tmp_path / "data") as server:
        health = server.client(None)
        assert health.get("/api/health").json()["interface"] == "127.0.0.1 (lo)"
        network.add("wlan0", "192.168.7.20/24")
        until(lambda: health.get("/api/health").json()["interface"] == "192.168.7.20 (wlan0)", server.log)
        assert sender_of_levels("192.168.7.20") == "192.168.7.20"
        until(lambda: mdns.ask("focuscall.local", "192.168.7.20", 0.5) == ["192.168.7.20"], server.log)
        assert f"http://192.168.7.20:{server.port}/" in server.log()


def test_a_page_for_this_machine_only_has_no_name(tmp_path: Path, network: Interfaces) -> None:
    with mdns.listening(HERE) as heard, serving(tmp_path / "data", "--host=127.0.0.1") as server:
        assert sender_of_levels(HERE) == HERE
        assert server.phone("lead").rig["laptop"] == {"pages": [], "name": None}
        assert server.interrupt() == 0
        assert not heard, "neither asked for at the start nor taken back at the end"


SIDE = "10.8.0.5"


def senders_of(universe: int, heard: socket.socket, many: int) -> set[str]:
    """Where the next packets of a universe come from."""
    found = list[str]()
    while len(found) < many:
        octets, (sender, _) = heard.recvfrom(2000)
        packet = e131.decode(octets)
        if isinstance(packet, e131.Data) and packet.universe == universe:
            found.append(sender)
    return set(found)


def senders_until_silent(universe: int, heard: socket.socket) -> set[str]:
    """Where its packets came from until none came any more."""
    found = set[str]()
    with suppress(TimeoutError):
        while True:
            found |= senders_of(universe, heard, 1)
    return found


def test_a_universe_leaves_by_a_second_network_and_by_no_other_while_that_is_gone(
    tmp_path: Path, network: Interfaces
) -> None:
    network.add("side", f"{SIDE}/24")
    with (
        serving(tmp_path / "data", f"--interface={HERE}") as server,
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as heard,
    ):
        heard.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        heard.bind(("239.255.0.2", 5568))  # E1.31-2018, 9.3.1: universe 2
        for interface in (HERE, SIDE):
            asked = socket.inet_aton("239.255.0.2") + socket.inet_aton(interface)
            heard.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, asked)
        heard.settimeout(ENOUGH_S)
        assert senders_of(2, heard, 1) == {HERE}
        lead, phone = server.client("lead"), server.phone("crew")

        def findings() -> list[str]:
            (two,) = [u for u in lead.get("/api/outputs").json()["universes"] if u["universe"] == 2]
            return [one["why"] for one in two["findings"]]

        by_side = {"by": "sacn", "to": "multicast", "interface": SIDE}
        changed = lead.put("/api/outputs/2", json={"outputs": [by_side], "steady": True})
        assert changed.status_code == 200, changed.text
        while senders_of(2, heard, 20) != {SIDE}:
            pass  # what was on its way by the first network, and the end of its stream
        assert findings() == []
        network.take("side", f"{SIDE}/24")
        until(findings, server.log)
        assert findings() == [
            f"The network with the address {SIDE} is not there: nothing leaves by it meanwhile."
        ]
        phone.until(lambda: f"way {SIDE}" in phone.rig["alerts"], "that it is gone")
        assert phone.rig["alerts"][f"way {SIDE}"]["why"].startswith(
            f"Universe 2 is to leave by {SIDE}, which is not there since "
        )
        heard.settimeout(1.0)
        assert senders_until_silent(2, heard) <= {SIDE}, "by no other network meanwhile"
        network.give("side", f"{SIDE}/24")
        until(lambda: not findings(), server.log)
        phone.until(lambda: f"way {SIDE}" not in phone.rig["alerts"], "that it is back")
        asked = socket.inet_aton("239.255.0.2") + socket.inet_aton(SIDE)
        with suppress(OSError):  # the membership may have outlived the address
            heard.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, asked)
        heard.settimeout(ENOUGH_S)
        assert senders_of(2, heard, 20) == {SIDE}


def test_a_console_is_heard_by_every_number_and_network_a_universe_goes_by_and_we_are_not(
    tmp_path: Path, network: Interfaces
) -> None:
    network.add("side", "2.0.0.5/24")
    outputs = [
        {"by": "sacn", "to": "multicast"},
        {"by": "sacn", "to": "multicast", "number": 101},
        {"by": "sacn", "to": "multicast", "number": 300, "interface": "2.0.0.5"},
    ]

    def heard() -> list[tuple[int, int]]:
        answer = client.get("/api/sources").json()
        found.update(own=answer["own"])
        return sorted((u["universe"], s["number"]) for u in answer["universes"] for s in u["sources"])

    def send(interface: str, sender: str, number: int) -> None:
        packet = DataPacket(tuple(CONSOLE.bytes), "Desk", number, (9,), 120, 0)
        packet.sequence = sequences[number] = (sequences.get(number, -1) + 1) % 256
        group = f"239.255.{number >> 8}.{number & 255}"  # E1.31-2018, 9.3.1
        network.arrive(interface, sender, group, 5568, bytes(packet.getBytes()))

    found: dict[str, int] = {}
    sequences: dict[int, int] = {}
    with serving(tmp_path / "data", f"--interface={HERE}", "--sacn-in-port=5568") as server:
        client = server.client()
        assert client.put("/api/outputs/1", json={"outputs": outputs}).status_code == 200
        until(lambda: heard() == [] and found["own"] > 20, lambda: found)  # our own, looped back
        for interface, sender, number in (("rig", "10.9.0.9", 101), ("side", "2.0.0.9", 300)):
            wanted = sorted([*heard(), (1, number)])

            def arrives(
                way: tuple[str, str, int] = (interface, sender, number),
                wanted: list[tuple[int, int]] = wanted,
            ) -> bool:
                send(*way)
                return heard() == wanted

            until(arrives, heard)
        send("side", "2.0.0.9", 301)  # nobody's
        assert heard() == [(1, 101), (1, 300)]


def test_a_node_of_a_network_that_levels_leave_by_is_on_a_network_of_ours(
    tmp_path: Path, network: Interfaces
) -> None:
    network.add("side", f"{SIDE}/24")
    network.give("side-far", "10.8.0.21/24")
    with (
        serving(tmp_path / "data", f"--interface={HERE}") as server,
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as node,
    ):
        node.bind(("10.8.0.21", 0))
        client = server.client()

        def said() -> list[str]:
            node.sendto(artnet.encode_poll_reply(reply("Side", 3)), (SIDE, artnet.PORT))
            told = client.get("/api/nodes").json()["findings"]
            return [one["why"] for one in told if "another network than ours" in one["why"]]

        until(said, server.log)
        output = {"by": "artnet", "to": "host", "host": "10.8.0.21", "interface": SIDE}
        assert client.put("/api/outputs/3", json={"outputs": [output]}).is_success
        assert not said(), "it is given levels there"


def test_whoever_tells_of_changes_all_the_time_has_levels_led_elsewhere_only_now_and_then(
    tmp_path: Path, network: Interfaces
) -> None:
    pages = [artnet.encode_poll_reply(reply("Restless", port)) for port in (1, 2)]
    with (
        serving(tmp_path / "data", f"--interface={HERE}") as server,
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as node,
    ):
        node.bind((HERE, 0))
        client = server.client()

        def is_there() -> object:
            node.sendto(pages[0], (HERE, artnet.PORT))
            return client.get("/api/nodes").json()["nodes"]

        until(is_there, server.log)
        shared = SharedMap(server.data / "demo" / "output.map")
        try:
            began, before = time.monotonic(), shared.number("plan_version")
            for _ in range(20):
                for at in range(50):
                    node.sendto(pages[(at + 1) % 2], (HERE, artnet.PORT))
                client.get("/api/nodes")
            until(lambda: shared.number("plan_version") > before, server.log)
            plans, took_s = shared.number("plan_version") - before, time.monotonic() - began
        finally:
            shared.close()
    assert plans <= 2 + took_s / 0.1, f"{plans} in {took_s:.2f} s"
