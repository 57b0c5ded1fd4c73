"""One universe's packets at one rate: templates patched in place, where they go, the numbers they carry."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Self

from server.output.batch import Entry
from server.output.pacing import Farewell, Pace, Rank
from server.output.part import Part
from server.output.place import By, Key, Place, places_of
from server.output.plan import MOST_HZ, Sacn, UniversePlan
from server.wire import artnet, e131

__all__ = ["Ending", "Source", "Stream", "shares"]

Spans = tuple[tuple[int, int], ...]
_Packets = list[tuple[bytearray, list[Place]]]
_WHOLE = slice(None)
# 201 to 255 are for receivers' own use, never to be sent.
_SENDABLE = bytes(min(priority, e131.MAX_PRIORITY) for priority in range(256))


@dataclass(frozen=True, slots=True)
class Source:
    """Whose packets they are. template: any full sACN data packet of this source; interface: the plan's."""

    template: bytes
    interface: str | None


@dataclass(slots=True)
class Ending:
    """What is left to send of a universe that ends, or that no longer goes to some places."""

    block: int
    pace: Farewell
    packets: _Packets

    def spare(self, keys: set[Key]) -> None:
        """Do not end it there after all."""
        self.packets = [(packet, [to for to in old if to.key not in keys]) for packet, old in self.packets]

    @property
    def places(self) -> list[Place]:
        """Where it still is to be told."""
        return [place for _, places in self.packets for place in places]


def shares(planned: UniversePlan, together_hz: float | None) -> list[tuple[UniversePlan, float]]:
    """A universe's outputs by rate, the fastest first; together_hz: all of them at that one."""
    if together_hz is not None:
        return [(planned, together_hz)]
    rates = sorted({output.most_hz for output in planned.outputs}, reverse=True) or [MOST_HZ]
    if len(rates) == 1:
        return [(planned, rates[0])]
    return [
        (replace(planned, outputs=tuple(output for output in planned.outputs if output.most_hz == hz)), hz)
        for hz in rates
    ]


class Stream:
    """The packets of one universe, ready to go.

    planned: with the outputs of one rate only, most_hz. sacn and artnet: pairs of one packet and everywhere
    it goes; each: those with the priorities of slots, which go after the levels of the same picture. spans:
    where its entries for the next frame are in the batch of each way. pace: when they go. block: the
    universe's place in the shared map. shown: whether there has been a picture; version: which one it was, -1
    before that is known. fast: whether it goes as often as may be. at: its place among all streams. frames
    counts since the universe began.
    """

    __slots__ = (
        *("_first", "_levels", "_off_limits", "_rank", "_spans", "artnet", "at", "block", "each", "fast"),
        *("frames", "most_hz", "pace", "places", "planned", "sacn", "shown", "source", "spans", "version"),
    )

    def __init__(self, planned: UniversePlan, source: Source, block: int, most_hz: float = MOST_HZ) -> None:
        self.planned = planned
        self.source = source
        self.block = block
        self.most_hz = most_hz
        self.pace: Pace | Part = Pace(planned.steady, most_hz)
        self._rank = Rank(self.pace.frame_s)
        self.frames = 0
        self.fast = most_hz == MOST_HZ
        self.shown = False
        self.version = -1
        self.at = 0
        self._off_limits = [(first - 1, last) for first, last in planned.off_limits]
        self.places = places_of(planned, source.interface)
        self.sacn = _sacn_packets(planned, self.places, source.template)
        self.each = _ranked(self.sacn) if planned.per_slot else []
        self.artnet = _artnet_packets(self.places)
        levels = [(packet, e131.SLOTS) for packet, _ in self.sacn]
        levels += [(packet, artnet.DMX_SLOTS) for packet, _ in self.artnet]
        levels = levels or [(bytearray(512), slice(0, 512))]
        self._first = levels[0][0], levels[0][1].start
        # Through a view octets are written without another copy of them, as a slice of a bytearray makes one.
        self._levels = [memoryview(packet)[slots] for packet, slots in levels]
        self.spans: Spans = ()
        self._spans: tuple[Spans, Spans] = (), ()

    def is_as(self, planned: UniversePlan, source: Source, most_hz: float) -> bool:
        """Whether it was made of just these."""
        return (self.planned, self.source, self.most_hz) == (planned, source, most_hz)

    def place_in(self, batches: dict[By, list[Entry]]) -> None:
        """Add its packets to what will be the batches, one for each way."""
        begin = [len(entries) for entries in batches.values()]
        _add(self.sacn, batches)
        _add(self.artnet, batches)
        middle = [len(entries) for entries in batches.values()]
        _add(self.each, batches)
        end = [len(entries) for entries in batches.values()]
        self._spans = tuple(zip(begin, middle, strict=True)), tuple(zip(begin, end, strict=True))
        self.spans = self._spans[0]

    @property
    def slots(self) -> bytes:
        """The levels in the packets, none before the first picture."""
        return bytes(self._levels[0]) if self.shown else b""

    def show(self, slots: bytes, each: bytes = b"") -> bool:
        """Put 512 levels and priorities into the packets; False when they are what is in there already."""
        pinned = self._pinned(slots) if self._off_limits else slots
        packet, at = self._first
        changed = not (packet.startswith(pinned, at) and self.shown)
        if changed:
            self.shown = True
            for levels in self._levels:
                levels[_WHOLE] = pinned
        if self.each:
            ranked = self._pinned((each or bytes(512)).translate(_SENDABLE))
            if ranked != self.each[0][0][e131.SLOTS]:
                changed = True
                self._rank.changed()
                for packet, _ in self.each:
                    packet[e131.SLOTS] = ranked
        return changed

    def again(self, now: float) -> None:
        """Send all there is as if it had just changed."""
        self.pace.changed(now)
        self._rank.changed()

    def number_each(self, sequence: int, now: float) -> int:
        """Number the priorities, where they go with the frame whose levels have this number.

        Returns the last number used.
        """
        goes = self._rank.goes(now, self.pace.ends_motion)
        self.spans = self._spans[goes]
        if goes:
            sequence = (sequence + 1) & 255
            for packet, _ in self.each:
                packet[e131.SEQUENCE_AT] = sequence
        return sequence

    def carry_on(self, before: Sequence[Self], now: float) -> None:
        """Take over picture and pace from the streams of the same universe under an earlier plan."""
        like = next((other for other in before if other.most_hz == self.most_hz), before[0])
        if like.most_hz == self.most_hz:
            self.pace = like.pace
        for other in before:
            self.pace.not_soon_after(other.pace.last)  # an output may come from one of another rate
        self.frames = before[0].frames
        if like.shown:
            self.show(like.slots, bytes(like.each[0][0][e131.SLOTS]) if like.each else b"")
            if self.pace is not like.pace or not self._sends_as(like):
                self.again(now)  # a new receiver need not wait for the next keep-alive

    def _sends_as(self, other: Self) -> bool:
        mine, theirs = (
            (each.planned.outputs, each.planned.per_slot, each.source, each.slots) for each in (self, other)
        )
        return mine == theirs

    def ending(self, places: Iterable[Place], now: float) -> Ending:
        """The packets that tell these places that the universe ends there (E1.31-2018, 6.2.6)."""
        told = frozenset(places)
        packets = []
        for packet, everywhere in self.sacn:
            closing = bytearray(packet)
            closing[e131.OPTIONS_AT] |= e131.TERMINATED
            closing[e131.SYNC_AT] = bytes(2)  # nobody is to wait for it
            packets.append((closing, [place for place in everywhere if place in told]))
        first = max(now, self.pace.last + self.pace.closest_s)
        farewell = Farewell(first, e131.TERMINATE_PACKETS, self.pace.frame_s, self.pace.last)
        return Ending(self.block, farewell, packets)

    def _pinned(self, slots: bytes) -> bytes:
        pinned = bytearray(slots)
        for start, end in self._off_limits:
            pinned[start:end] = bytes(end - start)
        return bytes(pinned)


def _add(packets: _Packets, batches: dict[By, list[Entry]]) -> None:
    for packet, places in packets:
        for place in places:
            batches[place.by].append((packet, place.address))


def _sacn_packets(planned: UniversePlan, places: Sequence[Place], template: bytes) -> _Packets:
    made: dict[tuple[int, int], list[Place]] = {}
    for output, place in zip(planned.outputs, places, strict=True):
        if isinstance(output, Sacn):
            made.setdefault((place.number, output.priority), []).append(place)
    packets = []
    for (number, priority), to in made.items():
        packet = bytearray(template)
        packet[e131.PRIORITY_AT] = priority
        packet[e131.UNIVERSE_AT] = number.to_bytes(2, "big")
        packets.append((packet, to))
    return packets


def _ranked(packets: _Packets) -> _Packets:
    """The packets of priorities that belong to these of levels."""
    made = [(bytearray(packet), places) for packet, places in packets]
    for packet, _ in made:
        packet[e131.START_CODE_AT] = e131.PRIORITIES
    return made


def _artnet_packets(places: Sequence[Place]) -> _Packets:
    made: dict[int, list[Place]] = {}
    for place in places:
        if place.by.protocol == "artnet":
            made.setdefault(place.number, []).append(place)
    return [(artnet.dmx_packet(number), to) for number, to in made.items()]
