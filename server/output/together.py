"""Universes that are acted on together: one pace for all, and what tells receivers when a frame is whole."""

import uuid
from collections.abc import Iterable
from math import inf

from server.output.batch import Address
from server.output.pacing import Pace
from server.output.part import Part
from server.output.place import ART_NET, By, groups_and_hosts, places_of
from server.output.plan import Plan
from server.output.stream import Stream
from server.wire import artnet, e131

__all__ = ["Together", "together_hz"]


def together_hz(plan: Plan) -> float | None:
    """The rate of a plan whose universes go together, its slowest output's; None: each goes by itself."""
    if not plan.sync and not plan.artnet_sync:
        return None
    return min((out.most_hz for planned in plan.universes for out in planned.outputs), default=None) or 44.0


class Together:
    """The pace that all streams share, and the packets after each frame: when, and where to.

    tells_at: when those of the frame that has just left are due; infinity: there are none. A short pause
    before them is recommended (E1.31-2018, 11.2.2), so that receivers have all levels of the frame by then.
    """

    def __init__(self, plan: Plan, pace: Pace, tells_at: float = inf) -> None:
        self.pace = pace
        self.tells_at = tells_at
        self._pause_s = plan.sync_pause_s
        self._packet = bytearray()
        self._to: set[tuple[By, Address]] = set()
        if plan.sync:
            groups, hosts = groups_and_hosts(plan, plan.sync)
            self._to = groups | hosts
            self._packet = e131.sync_packet(uuid.UUID(plan.cid).bytes, plan.sync)
        self._art_packet = bytearray(artnet.encode_sync())
        self._art_to = _artnet_targets(plan)

    def going(self, streams: Iterable[Stream], now: float) -> list[Stream]:
        """Those that have something to say in the frame that leaves now."""
        return [one for one in streams if one.shown and isinstance(one.pace, Part) and one.pace.goes(now)]

    def sent(self, going: Iterable[Stream], streams: Iterable[Stream], now: float) -> None:
        """A frame of these has left at `now`, of all streams."""
        for stream in going:
            stream.pace.sent(now)
            self.tells_at = now + self._pause_s
        self.pace.sent(now)
        parts = (stream.pace for stream in streams if stream.shown)
        self.pace.rest_until(min((one.keep_alive for one in parts if isinstance(one, Part)), default=inf))

    @property
    def has_sacn(self) -> bool:
        """Whether there is a packet to be numbered by `packets`."""
        return bool(self._to)

    def packets(self, sequence: int) -> list[tuple[bytearray, set[tuple[By, Address]]]]:
        """What goes after a frame, and where to. sequence: of its own, sACN only."""
        if self._to:
            self._packet[e131.SYNC_SEQUENCE_AT] = sequence
        return [(self._packet, self._to), (self._art_packet, self._art_to)]

    @property
    def ways(self) -> set[By]:
        """The ways these packets leave by."""
        return {by for by, _ in self._to | self._art_to}


def _artnet_targets(plan: Plan) -> set[tuple[By, Address]]:
    # A node only heeds ArtSync from the address its levels come from.
    places = {place for planned in plan.universes for place in places_of(planned, plan.interface)}
    ways = {place.by for place in places if place.by.protocol == "artnet"}
    if not ways:
        return set()
    usual = ART_NET if ART_NET in ways else min(ways)
    told = set[tuple[By, Address]]()
    for to in plan.artnet_sync:
        by = By("artnet", to.interface, bound=True) if to.interface else ART_NET
        told.add((by if by in ways else usual, (to.host, to.port)))
    return told
