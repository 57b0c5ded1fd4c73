"""Universes that are acted on together: one pace for all, and what tells receivers when a frame is whole."""

import uuid

from server.output.batch import Address
from server.output.pacing import Pace
from server.output.place import ART_NET, By, groups_and_hosts, places_of
from server.output.plan import Plan
from server.wire import artnet, e131

__all__ = ["Together", "together_hz"]


def together_hz(plan: Plan) -> float | None:
    """The rate of a plan whose universes go together, its slowest output's; None: each goes by itself."""
    if not plan.sync and not plan.artnet_sync:
        return None
    return min((out.most_hz for planned in plan.universes for out in planned.outputs), default=None) or 44.0


class Together:
    """The pace that all streams share, and the packets after each frame.

    The standard gives no time to wait before the synchronisation packet (E1.31-2018, 11.2.2): none is waited,
    packets leave in order.
    """

    def __init__(self, plan: Plan, pace: Pace) -> None:
        self.pace = pace
        self._packet = bytearray()
        self._to: set[tuple[By, Address]] = set()
        if plan.sync:
            groups, hosts = groups_and_hosts(plan, plan.sync)
            self._to = groups | hosts
            self._packet = e131.sync_packet(uuid.UUID(plan.cid).bytes, plan.sync)
        self._art_packet = bytearray(artnet.encode_sync())
        self._art_to = _artnet_targets(plan)

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
    by = ART_NET if ART_NET in ways or not ways else min(ways)
    return {(by, (host, artnet.PORT)) for host in plan.artnet_sync if ways}
