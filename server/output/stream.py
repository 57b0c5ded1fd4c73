"""One universe's packets: templates patched in place, where they go, and the numbers they carry."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from server.output.batch import Address
from server.output.pacing import CLOSEST_S, Farewell, Pace, Rank
from server.output.plan import ArtNet, Sacn, UniversePlan
from server.wire import artnet, e131

__all__ = ["Ending", "Stream"]

_Packets = list[tuple[bytearray, list[Address]]]
# 201 to 255 are for receivers' own use, never to be sent.
_SENDABLE = bytes(min(priority, e131.MAX_PRIORITY) for priority in range(256))


@dataclass(slots=True)
class Ending:
    """What is left to send of a universe that ends, or that no longer goes to some addresses."""

    universe: int
    block: int
    pace: Farewell
    packets: _Packets

    def spare(self, addresses: set[Address]) -> None:
        """Do not end it there after all."""
        self.packets = [(packet, [to for to in old if to not in addresses]) for packet, old in self.packets]


class Stream:
    """The packets of one universe, ready to go.

    sacn and artnet: pairs of one packet and everywhere it goes; each: those with the priorities of slots,
    which go after the levels of the same picture. The spans are their places in the batches of all streams,
    of sACN for the frame that goes next. goes_somewhere: there is any. pace: when they go next. block: the
    universe's place in the shared map. frames and errors count since the universe began.
    """

    __slots__ = (
        *("_off_limits", "_rank", "_spans", "artnet", "artnet_span", "block", "each", "errors", "frames"),
        *("goes_somewhere", "pace", "planned", "sacn", "sacn_span", "slots"),
    )

    def __init__(self, planned: UniversePlan, template: bytes, block: int) -> None:
        """template: any full sACN data packet of this source, made by `e131.data_packet`."""
        self.planned = planned
        self.block = block
        self.pace = Pace(planned.steady)
        self.frames = 0
        self.errors = 0
        self.slots = b""
        self._off_limits = [(first - 1, last) for first, last in planned.off_limits]
        self.sacn = _sacn_packets(planned, template)
        self.each = _ranked(self.sacn) if planned.per_slot else []
        self.artnet = _artnet_packets(planned)
        self.place_at((0, 0, 0), (0, 0))
        self.goes_somewhere = bool(self.sacn or self.artnet)
        self._rank = Rank()

    def place_at(self, sacn: tuple[int, int, int], artnet: tuple[int, int]) -> None:
        """Where its entries are in the batches; of sACN where levels begin, priorities do, and all ends."""
        first, middle, end = sacn
        self._spans = (first, middle), (first, end)
        self.sacn_span, self.artnet_span = self._spans[bool(self.each)], artnet

    def show(self, slots: bytes, each: bytes = b"") -> bool:
        """Put 512 levels and priorities into the packets; False when they are what is in there already."""
        pinned = self._pinned(slots)
        changed = pinned != self.slots
        if changed:
            self.slots = pinned
            for packet, _ in self.sacn:
                packet[e131.SLOTS] = pinned
            for packet, _ in self.artnet:
                packet[artnet.DMX_SLOTS] = pinned
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
        self.sacn_span = self._spans[goes]
        if goes:
            sequence = (sequence + 1) & 255
            for packet, _ in self.each:
                packet[e131.SEQUENCE_AT] = sequence
        return sequence

    def carry_on(self, other: Self, now: float) -> None:
        """Take over picture, pace and counts from the same universe under an earlier plan."""
        self.frames, self.errors, self.pace = other.frames, other.errors, other.pace
        self.pace.set_steady(self.planned.steady, now)
        if other.slots:
            self.show(other.slots, bytes(other.each[0][0][e131.SLOTS]) if other.each else b"")
            same = self.planned.outputs == other.planned.outputs and self.slots == other.slots
            if not same or self.planned.per_slot != other.planned.per_slot:
                self.again(now)  # a new receiver need not wait for the next keep-alive

    def sacn_addresses(self) -> set[Address]:
        """Everywhere this universe goes by sACN."""
        return {address for _, addresses in self.sacn for address in addresses}

    def ending(self, addresses: Iterable[Address], now: float) -> Ending:
        """The packets that tell these addresses that the universe ends there (E1.31-2018, 6.2.6)."""
        told = frozenset(addresses)
        packets = []
        for packet, all_addresses in self.sacn:
            closing = bytearray(packet)
            closing[e131.OPTIONS_AT] |= e131.TERMINATED
            packets.append((closing, [address for address in all_addresses if address in told]))
        first = max(now, self.pace.last + CLOSEST_S)
        return Ending(self.planned.universe, self.block, Farewell(first, e131.TERMINATE_PACKETS), packets)

    def _pinned(self, slots: bytes) -> bytes:
        if not self._off_limits:
            return slots
        pinned = bytearray(slots)
        for start, end in self._off_limits:
            pinned[start:end] = bytes(end - start)
        return bytes(pinned)


def _ranked(packets: _Packets) -> _Packets:
    """The packets of priorities that belong to these of levels."""
    made = [(bytearray(packet), addresses) for packet, addresses in packets]
    for packet, _ in made:
        packet[e131.START_CODE_AT] = e131.PRIORITIES
    return made


def _sacn_packets(planned: UniversePlan, template: bytes) -> _Packets:
    by_priority: dict[int, list[Address]] = {}
    group = e131.multicast_address(planned.universe)
    for output in planned.outputs:
        if isinstance(output, Sacn):
            # Multicast has its port by the standard; another one is for unicast only (9.1.1).
            address = (output.host, output.port) if output.host else (group, e131.PORT)
            by_priority.setdefault(output.priority, []).append(address)
    packets = []
    for priority, addresses in by_priority.items():
        packet = bytearray(template)
        packet[e131.PRIORITY_AT] = priority
        packet[e131.UNIVERSE_AT] = planned.universe.to_bytes(2, "big")
        packets.append((packet, addresses))
    return packets


def _artnet_packets(planned: UniversePlan) -> _Packets:
    by_port: dict[int, list[Address]] = {}
    for output in planned.outputs:
        if isinstance(output, ArtNet):
            by_port.setdefault(output.port_address, []).append((output.host, output.port))
    return [(artnet.dmx_packet(port), addresses) for port, addresses in by_port.items()]
