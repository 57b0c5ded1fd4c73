"""A server beside a live console, and simulated nodes (tests/receivers.py) that hear both, on loopback."""

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import monotonic
from typing import Any

from tests.consoles import Desk
from tests.phones import Phone
from tests.ports import free_port
from tests.receivers import ArtNetNode, Plug, SacnNode
from tests.servers import Server, serving

__all__ = [
    "CHASE",
    "LEVELS",
    "PRIORITY_AT",
    "SLOT",
    "SLOTS_AT",
    "START_AT",
    "UNIT",
    "Stage",
    "staged",
]

UNIT, SLOT = "demo-1", 1  # a dimmer of the demo, universe 1
CHASE = 500  # a slot of nobody, which the console changes in every frame
LEVELS = bytes(random.Random(5).choices(range(1, 200), k=512))
# E1.31-2018, Table 4-1
CID_AT, PRIORITY_AT, OPTIONS_AT, START_AT, SLOTS_AT = 22, 108, 112, 125, 126
TERMINATED = 0x40  # 6.2.6


@dataclass
class Stage:
    """A server, a console, and what hears both."""

    server: Server
    desk: Desk
    plug: Plug
    side: Plug
    art: Plug
    lead: Phone
    sacn_in: int

    def ours(self, packet: bytes, code: int = 0, universe: int = 1) -> bool:
        """Whether an sACN packet of that universe came from the server."""
        desk = bytes.fromhex("ef07c8dd00644401a3a2459ef8e6143e")
        theirs = packet[CID_AT : CID_AT + 16] == desk
        if len(packet) != 638 or packet[113:115] != bytes([0, universe]):
            return False
        return not theirs and packet[START_AT] == code

    def newest(self, code: int = 0, universe: int = 1) -> bytes:
        """The newest of ours."""
        found = [packet for _, packet in tuple(self.plug.heard) if self.ours(packet, code, universe)]
        return found[-1] if found else bytes(638)

    def sent_since(self, mark: int) -> int:
        """How many frames of ours came after so many packets."""
        return sum(self.ours(packet) for _, packet in self.plug.heard[mark:])

    def has_ended(self) -> bool:
        """Whether nothing of ours came yet, or the last were three that end the stream (6.2.6)."""
        mine = [packet for _, packet in tuple(self.plug.heard) if self.ours(packet)]
        return all(packet[OPTIONS_AT] & TERMINATED for packet in mine[-3:])

    def until(self, true: Callable[[], object], why: str) -> None:
        """Wait until it is so."""
        self.server.sacn.until(true, why)

    def frames(self, count: int) -> float:
        """Let the console send so many frames; returns when it began."""
        began, until = monotonic(), len(self.desk.sent) + count
        self.until(lambda: len(self.desk.sent) >= until, f"{count} frames of the console")
        return began

    def rest(self, levels: bytes, but: int = SLOT) -> bytes:
        """All slots but the one in hand and the one that changes."""
        return bytes(level for at, level in enumerate(levels, 1) if at not in (but, CHASE))

    def alone_at(self, plug: Plug, universe: int) -> float:
        """When the first packet of the console's came after our time was over (6.7.1)."""
        last = max(at for at, packet in tuple(plug.heard) if self.ours(packet, universe=universe))
        of_it = bytes([0, universe])

        def after() -> list[float]:
            return [at for at, packet in tuple(plug.heard) if at > last + 2.5 and packet[113:115] == of_it]

        self.until(after, "the console's next packet")
        return after()[0]


@contextmanager
def staged(data: Path) -> Iterator[Stage]:
    """One that began while the console drove universe 1. data: an empty folder of its own."""
    sacn_in, artnet_in = free_port(), free_port()
    nodes: dict[str, Any] = {"each": SacnNode(1, reads_each=True), "plain": SacnNode(1, reads_each=False)}
    nodes["dark"] = SacnNode(1, reads_each=True, holds=False)
    of_2: dict[str, Any] = {"each": SacnNode(2, reads_each=True), "plain": SacnNode(2, reads_each=False)}
    with (
        Plug(nodes) as plug,
        Plug(of_2) as side,
        Plug({"artnet": ArtNetNode(1)}) as art,
        Desk(1, (plug.port, sacn_in), (art.port,)) as desk,
    ):
        desk.levels, desk.chase = LEVELS, CHASE
        itself = sacn_in  # which must never look like a console
        to = [f"--sacn-to=127.0.0.1:{port}" for port in (plug.port, side.port, itself)]
        to.append(f"--artnet-to=127.0.0.1:{art.port}")
        ports = (f"--sacn-in-port={sacn_in}", f"--artnet-in-port={artnet_in}")
        with serving(data, "--listen=2", *to, *ports) as server:
            yield Stage(server, desk, plug, side, art, server.phone("lead"), sacn_in)
