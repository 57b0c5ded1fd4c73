"""Levels as they arrive on loopback, by the kernel's clock: how fast, how close together, what is missing."""

import contextlib
import select
import socket
import time
from array import array
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from tests.stamped import receiver as ear
from tests.stamped import stamp_of

__all__ = ["CLOSEST_S", "Arrivals", "Heard", "ear"]

CLOSEST_S = 0.022  # a node passes on one frame in 22.68 ms (E1.31-2018, 6.6.1)
ENOUGH_S = 60.0  # for anything that should take a moment, on a busy machine
# Octets of an E1.31 data packet of 512 slots (E1.31-2018, Table 4-1).
_LONG, _SEQUENCE_AT, _OPTIONS_AT, _UNIVERSE_AT, _START_CODE_AT = 638, 111, 112, 113, 125
_TERMINATED = 0x40
_ARTDMX, _ARTDMX_LONG, _PORT_ADDRESS_AT = b"Art-Net\0\0\x50", 530, 14  # Art-Net 4, ArtDmx


@dataclass(slots=True)
class Heard:
    """One universe. times: when its levels arrived, seconds.

    numbers: of all its sACN data packets, in sequence. ended: how many of them said that the stream ends.
    """

    times: "array[float]" = field(default_factory=lambda: array("d"))
    numbers: bytearray = field(default_factory=bytearray)
    ended: int = 0

    def forget(self) -> None:
        """All but the newest of each, from which the next gap and the next number count."""
        del self.times[:-1]
        del self.numbers[:-1]
        self.ended = 0

    @property
    def gaps(self) -> list[float]:
        """Seconds between two packets with levels."""
        return [b - a for a, b in pairwise(self.times)]

    @property
    def hz(self) -> float:
        """How many of them a second."""
        whole = self.times[-1] - self.times[0] if len(self.times) > 1 else 0.0
        return (len(self.times) - 1) / whole if whole else 0.0

    @property
    def lost(self) -> int:
        """How many numbers are missing; one that came twice counts as 255."""
        return sum((b - a - 1) % 256 for a, b in pairwise(self.numbers))

    @property
    def too_close(self) -> int:
        """How many came sooner after the one before than a node can pass them on."""
        return sum(gap < CLOSEST_S for gap in self.gaps)


@dataclass(slots=True)
class Arrivals:
    """All that arrives at one ear, by universe."""

    socket: socket.socket
    universes: dict[int, Heard] = field(default_factory=dict)
    _packet: bytearray = field(default_factory=lambda: bytearray(2000))

    @property
    def port(self) -> int:
        """Where it listens."""
        port: int = self.socket.getsockname()[1]
        return port

    @property
    def packets(self) -> int:
        """How many with levels there were, of all universes."""
        return sum(len(heard.times) for heard in self.universes.values())

    def drain(self) -> None:
        """Forget what came so far, and what lies unread: some of it was not stamped when it arrived."""
        self.socket.setblocking(False)
        with contextlib.suppress(BlockingIOError):
            while True:
                self.socket.recv_into(self._packet)
        self.universes.clear()

    def hear(self) -> None:
        """Take down all that is there."""
        packet = self._packet
        self.socket.setblocking(False)
        while True:
            try:
                size, extra, _, _ = self.socket.recvmsg_into([packet], 64)
            except BlockingIOError:
                return
            at = stamp_of(extra)
            if size == _ARTDMX_LONG and packet.startswith(_ARTDMX):
                universe = packet[_PORT_ADDRESS_AT] | packet[_PORT_ADDRESS_AT + 1] << 8
                heard = self.universes.get(universe) or self.universes.setdefault(universe, Heard())
                heard.times.append(at)
            if size != _LONG:
                continue
            universe = packet[_UNIVERSE_AT] << 8 | packet[_UNIVERSE_AT + 1]
            heard = self.universes.get(universe) or self.universes.setdefault(universe, Heard())
            heard.numbers.append(packet[_SEQUENCE_AT])
            heard.ended += bool(packet[_OPTIONS_AT] & _TERMINATED)
            if packet[_START_CODE_AT] == 0:
                heard.times.append(at)

    def listen(self, seconds: float) -> None:
        """Take down what comes within so many seconds."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            select.select([self.socket], [], [], left)
            self.hear()

    def until(self, true: Callable[[], object], why: str) -> None:
        """Listen until `true`; fails after a minute."""
        deadline = time.monotonic() + ENOUGH_S
        while not true():
            assert time.monotonic() < deadline, f"never came: {why}; {self.packets} packets heard"
            self.listen(0.02)

    def more(self, count: int) -> None:
        """Listen until each universe has had so many packets more."""
        before = {universe: len(heard.times) for universe, heard in self.universes.items()}
        for universe, had in before.items():
            heard = self.universes[universe]
            self.until(lambda heard=heard, had=had: len(heard.times) >= had + count, f"{count} more")  # type: ignore[misc]

    def together(self, universes: Iterable[int] | None = None) -> list[Heard]:
        """Of these universes, or of all that were heard."""
        return [self.universes[u] for u in universes or sorted(self.universes)]
