"""A network that comes after the start, with a console on it: it is listened to before anything leaves."""

import socket
import threading
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from sacn.messages.data_packet import DataPacket

from tests.api.answers import given
from tests.networks import Interfaces, own_network
from tests.servers import serving_everywhere as serving

__all__: list[str] = []

HERE, DESK = "10.9.0.5", "10.9.0.9"
SIDE, SIDE_DESK = "10.8.0.5", "10.8.0.9"
CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e")
ETH_P_IP = 0x0800  # linux/if_ether.h
UDP_AT = 42  # after the heads of Ethernet, IPv4 (without options) and UDP


class Cable:
    """Its far end, with a console by multicast on it; the console's packets are built by the sacn package.

    sent: the universes of which anything came out of it that is not the console's.
    """

    def __init__(self, network: Interfaces, port: int, name: str, desk: str) -> None:
        self.sent: set[int] = set()
        self._packet = DataPacket(tuple(CID.bytes), "Front desk", 1, (9,) * 512, 100, 0)
        self._network, self._port, self._name, self._desk = network, port, name, desk
        self._ending = threading.Event()
        self._socket = socket.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.ntohs(ETH_P_IP))
        self._socket.bind((f"{name}-far", ETH_P_IP))
        self._socket.settimeout(0.1)

    def run(self) -> None:
        """Until it is to end."""
        while not self._ending.is_set():
            self._packet.sequence_increase()
            octets = bytes(self._packet.getBytes())
            self._network.arrive(self._name, self._desk, "239.255.0.1", self._port, octets)
            with suppress(TimeoutError, OSError):
                sent = self._socket.recv(2000)[UDP_AT:]
                # Data packets; E1.31-2018, Table 4-1.
                is_data = sent[4:13] == b"ASC-E1.17" and sent[18:22] == b"\0\0\0\4"
                if is_data and sent[22:38] != CID.bytes:
                    self.sent.add(int.from_bytes(sent[113:115], "big"))
        self._socket.close()

    def end(self) -> None:
        """Send nothing more."""
        self._ending.set()


@contextmanager
def console(network: Interfaces, port: int, name: str = "rig", desk: str = DESK) -> Iterator[Cable]:
    cable = Cable(network, port, name, desk)
    thread = threading.Thread(target=cable.run, daemon=True)
    thread.start()
    try:
        yield cable
    finally:
        cable.end()
        thread.join()


@pytest.mark.parametrize("pulled", [True, False], ids=["cable", "adapter"])
def test_what_comes_after_the_start_is_listened_to_before_anything_leaves_by_it(
    tmp_path: Path, pulled: bool
) -> None:
    with own_network() as network:
        if pulled:
            network.add("rig", f"{HERE}/24")
            network.pull("rig")
        more = (f"--interface={HERE}",) if pulled else ()
        with serving(tmp_path / "data", "--listen=2", *more) as server:
            lead, client = server.phone("lead"), server.client()

            def where() -> set[str]:
                lead.listen(0.05)
                return {one["where"] for one in given(client.get("/api/beside"))["universes"]}

            wanted = {"listening"} if pulled else {"joined"}
            server.sacn.until(lambda: where() == wanted, f"{wanted}")
            if pulled:
                lead.until(lambda: "network" in lead.rig["alerts"], "that it is gone")
                server.sacn.until(lambda: "listening" not in lead.rig["alerts"], "nothing is listened to")
                assert where() == {"listening"}
                network.plug("rig")
            else:
                network.add("rig", f"{HERE}/24")
            with console(network, server.sacn_in) as cable:
                lead.until(lambda: "join 1" in lead.rig["alerts"], "that a console drives universe 1")
                asked = lead.rig["alerts"]["join 1"]["why"]
                assert asked.startswith("Front desk drives universe 1 (sACN, priority 100, since ")
                server.sacn.until(lambda: cable.sent >= {2, 3}, "what nobody drives")
                assert where() == {"waiting", "joined"}
                assert 1 not in cable.sent


def test_a_second_network_that_comes_later_is_listened_to_while_the_first_goes_on(tmp_path: Path) -> None:
    outputs = [{"by": "sacn", "to": "multicast", "interface": each} for each in ("", SIDE)]
    with own_network() as network:
        for name, address in (("rig", HERE), ("side", SIDE)):
            network.add(name, f"{address}/24")
        with serving(tmp_path / "data", "--listen=2", f"--interface={HERE}") as server:
            for universe in (1, 2):
                given(server.client().put(f"/api/outputs/{universe}", json={"outputs": outputs}))
            server.hang_up()
            assert server.interrupt() == 0
            network.take("side", f"{SIDE}/24")
            server.start()
            lead, client = server.phone("lead"), server.client()

            def joined() -> bool:
                return {one["where"] for one in given(client.get("/api/beside"))["universes"]} == {"joined"}

            server.sacn.until(joined, "all universes")
            lead.until(lambda: f"way {SIDE}" in lead.rig["alerts"], "that the second network is not there")
            network.give("side", f"{SIDE}/24")
            with console(network, server.sacn_in, "side", SIDE_DESK) as cable:
                lead.until(lambda: "join 1" in lead.rig["alerts"], "that a console drives universe 1 there")
                asked = lead.rig["alerts"]["join 1"]["why"]
                assert asked.startswith("Front desk drives sACN 1 (sACN, priority 100, since ")
                assert "All of it goes on as before until you say how to join." in asked
                server.sacn.until(lambda: 2 in cable.sent, "what nobody drives there")
                assert joined()
                assert cable.sent == {2}
                assert lead.ask("share", universe=1, join="below")["is"] == "ok"
                server.sacn.until(lambda: cable.sent == {1, 2}, "universe 1, as the lead said")
