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
CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e")
ETH_P_IP = 0x0800  # linux/if_ether.h
UDP_AT = 42  # after the heads of Ethernet, IPv4 (without options) and UDP


class Cable:
    """Its far end, with a console by multicast on it; the console's packets are built by the sacn package.

    sent: the universes of which anything came out of it that is not the console's.
    """

    def __init__(self, network: Interfaces, port: int) -> None:
        self.sent: set[int] = set()
        self._packet = DataPacket(tuple(CID.bytes), "Front desk", 1, (9,) * 512, 100, 0)
        self._network, self._port, self._ending = network, port, threading.Event()
        self._socket = socket.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.ntohs(ETH_P_IP))
        self._socket.bind(("rig-far", ETH_P_IP))
        self._socket.settimeout(0.1)

    def run(self) -> None:
        """Until it is to end."""
        while not self._ending.is_set():
            self._packet.sequence_increase()
            self._network.arrive("rig", DESK, "239.255.0.1", self._port, bytes(self._packet.getBytes()))
            with suppress(TimeoutError, OSError):
                sent = self._socket.recv(2000)[UDP_AT:]
                if sent[4:13] == b"ASC-E1.17" and sent[22:38] != CID.bytes:  # E1.31-2018, Table 4-1
                    self.sent.add(int.from_bytes(sent[113:115], "big"))
        self._socket.close()

    def end(self) -> None:
        """Send nothing more."""
        self._ending.set()


@contextmanager
def console(network: Interfaces, port: int) -> Iterator[Cable]:
    cable = Cable(network, port)
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
