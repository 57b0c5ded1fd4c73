"""Nodes as the standards describe them, simulated: what each shows of the packets that came, and when.

One reads a priority for each slot (START code 0xDD, the registrant's note), one does not (E1.31-2018 alone),
one hears Art-Net. They read octets by the tables, not with the code that is tested, and count time by the
arrival of packets.
"""

import socket
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import pairwise, takewhile
from time import monotonic, sleep

from tests.stamped import Clock, receiver

__all__ = ["ENOUGH_S", "ArtNetNode", "Plug", "SacnNode"]

SLOTS = 512
LOSS_S = 2.5  # E1.31-2018, 6.7.1
WAITS_S = 1.5  # the note on 0xDD: for so long a new source's first priorities are waited for
MERGE_S = 10.0  # Art-Net 4, Data Merging
ENOUGH_S = 60.0
# Octets of an E1.31 data packet (Table 4-1) and of an ArtDmx.
_CID, _PRIORITY, _SEQUENCE, _OPTIONS, _UNIVERSE, _START, _LEVELS = 22, 108, 111, 112, 113, 125, 126
_PREVIEW, _TERMINATED = 0x80, 0x40  # 6.2.6
_ART_SEQUENCE, _ART_PHYSICAL, _ART_PORT, _ART_LEVELS = 12, 13, 14, 18


@dataclass(slots=True)
class _Source:
    began: float
    priority: int = 0
    sequence: int | None = None
    levels: bytes = b""
    levels_at: float = float("-inf")
    each: bytes | None = None
    each_at: float = float("-inf")


class SacnNode:
    """An sACN receiver of one universe; what nobody drives it holds, or it goes dark (10.2.2 allows both)."""

    def __init__(self, universe: int, reads_each: bool, holds: bool = True) -> None:
        self._universe, self._reads_each, self._holds = universe, reads_each, holds
        self._sources: dict[bytes, _Source] = {}
        self._held = bytes(SLOTS)

    def take(self, packet: bytes, sender: tuple[str, int], now: float) -> None:
        """One datagram, at the moment it came."""
        if packet[4:13] != b"ASC-E1.17" or packet[18:22] != b"\0\0\0\4":
            return
        if int.from_bytes(packet[_UNIVERSE : _UNIVERSE + 2], "big") != self._universe:
            return
        self._held = self.shown(now)
        cid, code = packet[_CID : _CID + 16], packet[_START]
        source = self._sources.get(cid)
        if source is not None and now - source.levels_at >= LOSS_S and now - source.began >= LOSS_S:
            source = None
        if packet[_OPTIONS] & _PREVIEW:
            return
        if source is not None and _is_late(source, packet[_SEQUENCE]):
            return
        if packet[_OPTIONS] & _TERMINATED:
            self._sources.pop(cid, None)
            return
        source = self._sources.setdefault(cid, _Source(now)) if source else _Source(now)
        self._sources[cid] = source
        source.sequence, source.priority = packet[_SEQUENCE], packet[_PRIORITY]
        if code == 0:
            source.levels, source.levels_at = packet[_LEVELS:].ljust(SLOTS, b"\0"), now
        elif code == 0xDD and self._reads_each:
            source.each, source.each_at = packet[_LEVELS:].ljust(SLOTS, b"\0"), now

    def shown(self, now: float) -> bytes:
        """The 512 levels it puts out."""
        best = [-1] * SLOTS
        out = bytearray(self._held if self._holds else SLOTS)
        for source in self._sources.values():
            if now - source.levels_at >= LOSS_S:
                continue
            each = self._each(source, now)
            if each is None:
                continue
            for at, (priority, level) in enumerate(zip(each, source.levels, strict=True)):
                if priority > best[at] and priority >= 0:
                    best[at], out[at] = priority, level
                elif priority == best[at] >= 0:
                    out[at] = max(out[at], level)  # the usual merge (6.2.3.2)
        return bytes(out)

    def _each(self, source: _Source, now: float) -> list[int] | None:
        """Its priority by slot, -1: it does not drive that one; None: its first are still waited for."""
        if self._reads_each and source.each is not None and now - source.each_at < LOSS_S:
            return [priority or -1 for priority in source.each]
        if self._reads_each and source.each is None and now - source.began < WAITS_S:
            return None
        return [source.priority] * SLOTS


def _is_late(source: _Source, sequence: int) -> bool:
    behind = source.sequence is not None and ((sequence - source.sequence + 128) & 255) - 128
    return behind is not False and -20 < behind <= 0  # E1.31-2018, 6.7.2


class ArtNetNode:
    """An Art-Net output port: the higher level of two senders, a third ignored (Data Merging)."""

    def __init__(self, port_address: int) -> None:
        self._port = port_address
        self._senders: dict[tuple[str, int, int], tuple[bytes, float]] = {}

    def take(self, packet: bytes, sender: tuple[str, int], now: float) -> None:
        """One datagram. On loopback senders share an address: the port tells them apart, too."""
        if packet[:10] != b"Art-Net\0\0\x50":
            return
        if packet[_ART_PORT] | packet[_ART_PORT + 1] << 8 != self._port:
            return
        key = *sender, packet[_ART_PHYSICAL]
        here = {k: s for k, s in self._senders.items() if now - s[1] < MERGE_S}
        if key in here or len(here) < 2:
            here[key] = packet[_ART_LEVELS:].ljust(SLOTS, b"\0"), now
        self._senders = here

    def shown(self, now: float) -> bytes:
        """The 512 levels it puts out."""
        here = [levels for levels, at in self._senders.values() if now - at < MERGE_S]
        if not here and self._senders:  # whoever stopped last stays
            here = [max(self._senders.values(), key=lambda sender: sender[1])[0]]
        return bytes(map(max, zip(*here, strict=True))) if here else bytes(SLOTS)


@dataclass(slots=True)
class Plug:
    """A socket on loopback that several nodes hang on: keeps every datagram and when it came.

    nodes: by name. shown: (time, levels) of each node after each packet that changed what it shows.
    """

    nodes: dict[str, SacnNode | ArtNetNode]
    shown: dict[str, list[tuple[float, bytes]]] = field(default_factory=dict)
    heard: list[tuple[float, bytes]] = field(default_factory=list)
    _socket: socket.socket = field(default_factory=receiver)
    _clock: Clock = field(default_factory=Clock)
    _closing: bool = False
    _thread: threading.Thread | None = None

    @property
    def port(self) -> int:
        """Where it listens on 127.0.0.1."""
        number: int = self._socket.getsockname()[1]
        return number

    def __enter__(self) -> "Plug":
        self._socket.settimeout(0.1)
        self.shown = {name: [] for name in self.nodes}
        self._thread = threading.Thread(target=self._listen, name="plug", daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._closing = True
        if self._thread is not None:
            self._thread.join()
        self._socket.close()

    def _listen(self) -> None:
        while not self._closing:
            with suppress(TimeoutError):
                now, packet, sender = self._clock.read(self._socket)
                self.heard.append((now, packet))
                for name, node in self.nodes.items():
                    node.take(packet, sender, now)
                    levels = node.shown(now)
                    seen = self.shown[name]
                    if not seen or seen[-1][1] != levels:
                        seen.append((now, levels))

    def levels(self, name: str) -> bytes:
        """What that node shows since the last packet that changed it."""
        seen = self.shown[name]
        return seen[-1][1] if seen else bytes(SLOTS)

    def until(self, name: str, true: Callable[[bytes], object], why: str) -> float:
        """Wait until what that node shows is so; returns when it was, by the packet that did it."""
        deadline = monotonic() + ENOUGH_S
        while not true(self.levels(name)):
            assert monotonic() < deadline, f"never came at {name}: {why}; {list(self.levels(name)[:32])}"
            sleep(0.005)
        since_then = takewhile(lambda seen: true(seen[1]), reversed(tuple(self.shown[name])))
        return min((at for at, _ in since_then), default=monotonic())

    def between(self, name: str, since: float, until: float) -> list[bytes]:
        """Everything that node showed from one moment to another, what it showed at first included."""
        seen = tuple(self.shown[name])
        inside = [levels for at, levels in seen if since <= at <= until]
        before = [levels for at, levels in seen if at < since]
        return [*before[-1:], *inside]

    def longest_gap(self, mine: Callable[[bytes], bool], since: float, until: float) -> float:
        """The longest time between two of those packets, s."""
        times = [
            since,
            *(at for at, packet in tuple(self.heard) if since < at < until and mine(packet)),
            until,
        ]
        return max(later - earlier for earlier, later in pairwise(times))
