"""A console of somebody else's: the sender of the sacn package 1.11.0, by unicast on loopback."""

import socket
import threading
import uuid
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from time import monotonic

import pytest
from sacn import sACNsender
from sacn.messages.data_packet import DataPacket
from sacn.sending import sender_handler, sender_socket_udp

from tests.servers import Server, serving

__all__ = ["CID", "STAMPS", "Desk", "console", "crowd", "drive"]

STAMPS = 251

CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e")


@contextmanager
def console(
    port: int, name: str = "Front desk", cid: uuid.UUID = CID, at: str = "127.0.0.1"
) -> Iterator[sACNsender]:
    """Sends to that port, and ends its streams properly. One port at a time: the package knows only 5568.

    at: the address it sends from; another one than usual stands for another machine.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sender_socket_udp, "DEFAULT_PORT", port)
        patch.setattr(sender_handler, "SEND_OUT_INTERVAL", 0.25)  # a test held up for 2 s is no console lost
        sender = sACNsender(
            bind_address=at,
            bind_port=0,
            source_name=name,
            cid=tuple(cid.bytes),
            universeDiscovery=False,
        )
        sender.start()
        try:
            yield sender
        finally:
            sender.stop()


@contextmanager
def driven(
    data: Path, *more: str, priority: int, at: str = "127.0.0.1", **how: str
) -> Iterator[tuple[Server, sACNsender]]:
    """A server that begins while a console drives slots 1 and 2 of universe 1, and that console.

    The others as `serving` has them.
    """
    with ExitStack() as ending:
        desks: list[sACNsender] = []

        def begin(server: Server) -> None:
            desks.append(ending.enter_context(console(server.sacn_in, at=at)))
            drive(desks[0], 1, (11, 22), priority=priority)

        server = ending.enter_context(serving(data, *more, before=begin, **how))
        yield server, desks[0]


def drive(sender: sACNsender, universe: int, levels: tuple[int, ...], priority: int = 100) -> None:
    """Have these levels sent from now on, and of a new universe nothing before them."""
    sender.manual_flush = True
    if universe not in sender.get_active_outputs():
        sender.activate_output(universe)
        sender[universe].destination = "127.0.0.1"
    sender[universe].priority = priority
    sender[universe].dmx_data = levels
    sender.manual_flush = False


@contextmanager
def crowd(port: int, universe: int, priorities: range) -> Iterator[None]:
    """As many senders as there are priorities, ten times a second: "Desk 17" sends 17 with priority 17."""
    packets = [
        DataPacket(tuple(uuid.UUID(int=each).bytes), f"Desk {each}", universe, (each,) * 512, each, 0)
        for each in priorities
    ]
    ending = threading.Event()

    def run() -> None:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
            while not ending.wait(0.1):
                for packet in packets:
                    packet.sequence_increase()
                    out.sendto(bytes(packet.getBytes()), ("127.0.0.1", port))

    thread = threading.Thread(target=run, name="crowd", daemon=True)
    thread.start()
    try:
        yield
    finally:
        ending.set()
        thread.join()


class Desk:
    """The same by hand, to several ports at once and 44 times a second, also by Art-Net: one universe.

    levels: what it sends from the next frame on; chase: a slot that changes in each frame; stamped: every
    slot carries the frame's number instead, modulo STAMPS. turn: called after each frame, and waited for.
    sent: every frame, (time, levels), before it leaves.
    """

    def __init__(self, universe: int, sacn: tuple[int, ...] = (), artnet: tuple[int, ...] = ()) -> None:
        self.levels = bytes(512)
        self.chase: int | None = None
        self.stamped = False
        self.turn: Callable[[], object] = lambda: None
        self.sent: list[tuple[float, bytes]] = []
        self.port = 0
        self._to = sacn, artnet
        self._packet = DataPacket(tuple(CID.bytes), "Front desk", universe, (), 100, 0)
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="desk", daemon=True)

    @property
    def priority(self) -> int:
        """Of its packets."""
        return int(self._packet.priority)

    @priority.setter
    def priority(self, priority: int) -> None:
        self._packet.priority = priority

    def __enter__(self) -> "Desk":
        self._socket.bind(("127.0.0.1", 0))
        self.port = self._socket.getsockname()[1]
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ending.set()
        self._thread.join()
        self._socket.close()

    def _run(self) -> None:
        due = monotonic()
        while not self._ending.wait(max(0.0, due - monotonic())):
            due = max(due + 1 / 44, monotonic())
            levels = bytearray(self.levels)
            if self.stamped:
                levels = bytearray([len(self.sent) % STAMPS] * 512)
            elif self.chase is not None:
                levels[self.chase - 1] = len(self.sent) % STAMPS
            self.sent.append((monotonic(), bytes(levels)))
            self._packet.dmxData = tuple(levels)
            self._packet.sequence_increase()
            for port in self._to[0]:
                self._socket.sendto(bytes(self._packet.getBytes()), ("127.0.0.1", port))
            universe = self._packet.universe
            # Art-Net 4, ArtDmx: identifier, OpCode, version 14, sequence, physical, Port-Address, length.
            head = b"Art-Net\0\0\x50\0\x0e" + bytes(
                [len(self.sent) % 255 + 1, 0, universe & 255, universe >> 8, 2, 0]
            )
            for port in self._to[1]:
                self._socket.sendto(head + levels, ("127.0.0.1", port))
            self.turn()
