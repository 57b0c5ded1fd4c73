"""One source on one universe: what it sent last, whether that still counts, and how it ended."""

from dataclasses import dataclass, field
from math import inf
from typing import Literal

import numpy as np

from server.hearing.order import Order
from server.wire import artnet, e131

__all__ = ["ARTNET_PRIORITY", "SLOTS", "Bools", "Octets", "Source", "State", "in_order"]

SLOTS = 512
ARTNET_PRIORITY = 100  # Art-Net has none; ours: it counts as the usual one of sACN (E1.31-2018, 6.2.3)

_LEVELS, _PRIORITIES = 0x00, 0xDD  # START codes; 0xDD is an extension outside E1.31

State = Literal["live", "preview", "terminated", "lost"]
Octets = np.ndarray[tuple[int], np.dtype[np.uint8]]
Bools = np.ndarray[tuple[int], np.dtype[np.bool_]]
_NOTHING = memoryview(b"")
_REPEATS_S = 1.25  # Art-Net 4 recommends 0.8 to 1.0 s where nothing changes, earlier versions 4 s
_STILL_S = 3.0  # of levels that stay the same, before it is known how often they are repeated


@dataclass(slots=True, eq=False)
class Source:
    """Times are seconds of the clock that is handed in.

    id: the CID as a UUID's text, or address and physical port of an Art-Net source ("10.0.0.5/0").
    name: what it calls itself; "" where nobody knows. address: where it sends from, and stays while packets
    come from there, whatever others come from elsewhere (IPv6). priority: of its packets. since: when it
    came, or came back. heard_at: its last packet. late: packets discarded because they came out of order.
    number: what it calls the universe, of sACN or a Port-Address.
    """

    protocol: Literal["sacn", "artnet"]
    id: str
    name: str
    address: str
    priority: int
    since: float
    number: int = 0
    heard_at: float = -inf
    frames: int = 0
    frames_per_s: float = 0.0
    late: int = 0
    levels_at: float = -inf
    preview_at: float = -inf
    _ended: Literal["terminated", "lost"] | None = None
    _order: Order = field(default_factory=Order)
    _address_at: float = -inf
    _levels: memoryview = _NOTHING
    _each: memoryview = _NOTHING
    _each_at: float = -inf
    _counted: int = 0
    _still_since: float = inf
    _repeats: bool = False

    @property
    def sender(self) -> str:
        """Who that is on whatever universe: its CID, or the address that Art-Net comes from."""
        return self.id if self.protocol == "sacn" else self.address

    @property
    def loss_s(self) -> float:
        """How long it may be silent: 2.5 s (E1.31-2018, 6.7.1), by Art-Net 10 s (Data Merging).

        Art-Net names no time for a loss; a source that was seen to repeat each second is gone after 2.5 s.
        """
        return e131.LOSS_S if self.protocol == "sacn" or self._repeats else artnet.MERGE_LOSS_S

    def state(self, now: float) -> State:
        """Only a live one has levels that count. Levels are timed by themselves: no other packet helps."""
        if self._ended is not None:
            return self._ended
        if now - self.levels_at < self.loss_s:
            return "live"
        return "preview" if now - self.preview_at < self.loss_s else "lost"

    def has_ended(self, now: float) -> bool:
        """Whether nothing of it is heard any more."""
        return self.state(now) in ("terminated", "lost")

    def levels(self) -> Octets:
        """The 512 levels it sent last; those that a short packet leaves out are 0."""
        return _whole(self._levels)

    def each(self, now: float) -> Octets | None:
        """Its priority for each slot (START code 0xDD), 0: it does not drive that one. None: it sends none.

        Those that no longer come are forgotten after 2.5 s; its packets' priority then counts for all slots.
        """
        if now - self._each_at >= e131.LOSS_S:
            return None
        return np.minimum(_whole(self._each), np.uint8(e131.MAX_PRIORITY))

    def take_sacn(self, packet: e131.Data, address: str, now: float) -> None:
        """One more data packet of this CID and universe.  Source: E1.31-2018, 6.2 and 6.7."""
        if address == self.address:
            self._address_at = now
        match self._order.judge(packet.sequence, address, now, self._gone(now)):
            case "late":
                self.late += 1
                return
            case "copy":
                return
        if packet.terminated:  # the values in it are to be ignored (6.2.6)
            self._end("terminated", now)
            return
        self._here(now)
        if now - self._address_at >= e131.LOSS_S:
            self.address, self._address_at = address, now
        self.name, self.priority = packet.source_name, packet.priority
        if packet.start_code == _LEVELS and packet.preview:
            self.preview_at = now
            self.frames += 1
        elif packet.start_code == _LEVELS:
            self._levels, self.levels_at = packet.slots, now
            self.frames += 1
        elif packet.start_code == _PRIORITIES and not packet.preview:
            self._each, self._each_at = packet.slots, now

    def take_artnet(self, packet: artnet.Dmx, now: float) -> None:
        """One more ArtDmx of this sender and physical port; sequence 0 says that it does not count."""
        if packet.sequence == 0:
            self._order = Order()
        elif self._order.judge(packet.sequence, self.address, now, self._gone(now)) == "late":
            self.late += 1
            return
        pause_s = now - self.heard_at
        self._here(now)
        if pause_s > _REPEATS_S or packet.slots != self._levels:
            self._still_since = now
            self._repeats = self._repeats and pause_s <= _REPEATS_S
        elif now - self._still_since >= _STILL_S:
            self._repeats = True
        self._levels, self.levels_at = packet.slots, now
        self.frames += 1

    def look(self, now: float, elapsed: float) -> None:
        """Count its frames over the last `elapsed` seconds, and notice that it is gone."""
        self.frames_per_s = (self.frames - self._counted) / elapsed
        self._counted = self.frames
        if self._ended is None and now - self.heard_at >= self.loss_s:
            self._end("lost", self.heard_at)

    def _gone(self, now: float) -> bool:
        return self._ended is not None or now - self.heard_at >= self.loss_s

    def _here(self, now: float) -> None:
        if self._gone(now):
            self.since, self._ended = now, None
            self._each_at = self.levels_at = self.preview_at = -inf
        self.heard_at = now

    def _end(self, how: Literal["terminated", "lost"], at: float) -> None:
        self._ended, self.heard_at = how, at
        self._levels = self._each = _NOTHING
        self._each_at = self.levels_at = self.preview_at = -inf


def in_order(source: Source) -> tuple[str, str, int]:
    """A lasting order of sources, by what they are."""
    return source.protocol, source.id, source.number


def _whole(sent: memoryview) -> Octets:
    if len(sent) == SLOTS:
        return np.frombuffer(sent, np.uint8)
    whole = np.zeros(SLOTS, np.uint8)
    whole[: len(sent)] = np.frombuffer(sent, np.uint8)
    return whole
