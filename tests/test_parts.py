"""A running show as a whole: what it finds on the network by itself, and what it does with it."""

import json
import threading
from contextlib import suppress
from pathlib import Path

import pytest

from server.net.sockets import open_shared
from server.wire import artnet
from tests.api.answers import given
from tests.paperwork.mvr_files import layer, mvr
from tests.paperwork.mvr_files import unit as drawn
from tests.servers import Server, serving

__all__: list[str] = []


class _Node(threading.Thread):
    """An Art-Net node on loopback: answers polls, wants two Port-Addresses, counts what it gets."""

    def __init__(self, *wants: int) -> None:
        super().__init__(daemon=True)
        # Two sockets: polls come by broadcast, levels to the node's own address, which is the narrower match.
        self._polls, self._levels = open_shared(artnet.PORT), open_shared(artnet.PORT, "127.0.0.1")
        self._reply = artnet.encode_poll_reply(
            artnet.PollReply(
                "127.0.0.1",
                num_ports=len(wants),
                port_types=bytes([0x80] * len(wants)).ljust(4, b"\0"),
                sw_out=bytes(wants).ljust(4, b"\0"),
                status2=0x08,
            )
        )
        self.got: dict[int, bytes] = {}
        self.ending = False
        for each in (self._polls, self._levels):
            each.settimeout(0.02)

    def run(self) -> None:
        while not self.ending:
            for each in (self._polls, self._levels):
                with suppress(TimeoutError):
                    data, sender = each.recvfrom(2000)
                    packet = artnet.decode(data)
                    if isinstance(packet, artnet.Poll):
                        self._levels.sendto(self._reply, sender)
                    elif isinstance(packet, artnet.Dmx):
                        self.got[packet.port_address] = bytes(packet.slots)
        self._polls.close()
        self._levels.close()


class _Searching(Server):
    """A server that is told no machine, so that it looks for nodes, on loopback only."""

    def __init__(self, data: Path) -> None:
        data.mkdir()
        super().__init__(data)
        given = ("--sacn-to", "--artnet-to")
        self.command = [word for word in self.command if not word.startswith(given)]


@pytest.mark.skipif("sys.platform != 'linux'", reason="only Linux has a broadcast address on loopback")
def test_a_node_that_answers_polls_gets_the_universes_it_wants_and_no_others(tmp_path: Path) -> None:
    node, server = _Node(1, 3), _Searching(tmp_path / "data")
    node.start()
    try:
        server.start()
        server.sacn.until(lambda: len(node.got) == 2, "levels of both universes at the node")
        assert set(node.got) == {1, 3}
        (shown,) = server.client("crew").get("/api/nodes").json()["nodes"]
        ports = [(port["is_output"], port["universe"], port["merges"]) for port in shown["ports"]]
        assert (shown["host"], ports) == ("127.0.0.1", [(True, 1, False), (True, 3, False)])
        assert any(node.got[1])  # the demo's baseline, not zeros
    finally:
        server.end()
        node.ending = True
        node.join()


def test_a_rig_file_of_any_kind_is_known_by_what_is_in_it(tmp_path: Path) -> None:
    drawing = mvr(layer("Rig", drawn("Spot 1", "8.1", FixtureID="501")))
    with serving(tmp_path / "drawn", "--rig", str(_put(tmp_path / "rig.csv", drawing))) as server:
        lead = server.client()
        (spot,) = given(lead.get("/api/fixtures"))
        assert (spot["channel"], spot["universe"], spot["address"]) == (501, 8, 1)
        assert given(lead.get("/api/profiles", params={"q": "heron spot"}))
        out = lead.get("/api/rig/export.json").content
    with serving(tmp_path / "json", "--rig", str(_put(tmp_path / "rig.txt", _without_type(out)))) as server:
        (dimmer,) = given(server.client().get("/api/fixtures"))
        assert (dimmer["channel"], dimmer["profile"]) == (501, "dimmer")


def _put(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


def _without_type(rig: bytes) -> bytes:
    """The same unit as a dimmer: this laptop has never seen the type."""
    read = json.loads(rig)
    kept = ("channel", "position", "unit", "universe", "address")
    units = [{key: each[key] for key in kept} for each in read["fixtures"]]
    read["fixtures"] = [each | {"profile": "dimmer", "mode": "1-slot"} for each in units]
    return json.dumps(read).encode()
