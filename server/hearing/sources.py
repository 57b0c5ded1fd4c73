"""Every source on the universes we are interested in, and what each of those shows."""

import uuid
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from server.hearing.merge import Shown, merge
from server.hearing.source import ARTNET_PRIORITY, Bools, Octets, Source, in_order
from server.wire import artnet, e131

__all__ = ["MOST", "Sources", "Universe"]

MOST = 16  # sources of a universe; more is a fault or an attack. Those that rank lowest are left out
_Key = tuple[bytes, int] | tuple[str, int, int]
_MOST_REFUSED = 256  # senders and reasons kept apart
_LISTED_S = 10.0  # how long one that has ended is still told


@dataclass(slots=True)
class Universe:
    """The sources of one universe by CID, or by address and physical port, and the number they send with.

    Whoever sends with two numbers that lead here is two sources, as each has sequence numbers of its own.

    exceeded: packets of sources there was no room for, and when the last of them came.
    """

    sources: dict[_Key, Source] = field(default_factory=dict)
    exceeded: int = 0
    exceeded_at: float = float("-inf")


class Sources:
    """Takes packets as they are decoded, and answers what a universe shows now.

    own: packets of ours that came back to us. They are never taken for a console's. refused: datagrams that
    were none that we may act on, by sender and reason.
    """

    def __init__(self, cid: bytes) -> None:
        """cid: our own, 16 octets."""
        self.own = 0
        self.refused: Counter[tuple[str, str]] = Counter()
        self._cid = cid
        self._universes: dict[int, Universe] = {}
        self._looked_at: float | None = None

    def become(self, cid: bytes) -> None:
        """Ours is another one now."""
        self._cid = cid

    def want(self, universes: Iterable[int]) -> None:
        """Be interested in these universes, and forget all others."""
        self._universes = {number: self._universes.get(number, Universe()) for number in universes}

    def refuse(self, address: str, why: str) -> None:
        """Count a malformed datagram."""
        if (address, why) in self.refused or len(self.refused) < _MOST_REFUSED:
            self.refused[address, why] += 1

    def call(self, names: Mapping[str, str]) -> None:
        """Give Art-Net sources a name: their levels carry none. names: by address."""
        for universe in self._universes.values():
            for source in universe.sources.values():
                if source.protocol == "artnet":
                    source.name = names.get(source.address, "")

    def take_sacn(self, packet: e131.Data, address: str, now: float, number: int | None = None) -> None:
        """A data packet, and the address it came from. The universe is the one in the packet (9.1.1).

        number: the universe of ours that goes by that one; None: they are called alike.
        """
        universe = self._universes.get(packet.universe if number is None else number)
        if packet.cid == self._cid:
            self.own += 1
            return
        if universe is None:
            return
        key = packet.cid, packet.universe
        source = universe.sources.get(key)
        if source is None:
            if packet.terminated:
                return
            text = str(uuid.UUID(bytes=packet.cid))
            source = Source("sacn", text, packet.source_name, address, packet.priority, now, packet.universe)
            if not _admit(universe, key, source, now):
                return
        source.take_sacn(packet, address, now)

    def take_artnet(self, packet: artnet.Dmx, number: int, address: str, now: float) -> None:
        """An ArtDmx for that universe of ours. Whoever calls has left out what we sent ourselves."""
        universe = self._universes.get(number)
        if universe is None:
            return
        key = address, packet.physical, packet.port_address
        source = universe.sources.get(key)
        if source is None:
            text = f"{address}/{packet.physical}"
            source = Source("artnet", text, "", address, ARTNET_PRIORITY, now, packet.port_address)
            if not _admit(universe, key, source, now):
                return
        source.take_artnet(packet, now)

    def look(self, now: float) -> None:
        """Be called about each second: counts rates, notices who is gone, forgets who has been for long."""
        before, self._looked_at = self._looked_at, now
        if before is None or now <= before:
            return
        for universe in self._universes.values():
            for key, source in list(universe.sources.items()):
                source.look(now, now - before)
                if source.has_ended(now) and now - source.heard_at >= source.loss_s + _LISTED_S:
                    del universe.sources[key]

    def all(self, number: int) -> list[Source]:
        """Every source of a universe, also those that have just ended or only preview, in a lasting order."""
        universe = self._universes.get(number)
        return sorted(universe.sources.values(), key=in_order) if universe else []

    def live(self, number: int, now: float) -> list[Source]:
        """Those of them that drive it now."""
        return [source for source in self.all(number) if source.state(now) == "live"]

    def shown(self, number: int, now: float) -> Shown | None:
        """What the universe shows by what is heard; None: nobody else drives it."""
        return merge(self.live(number, now), now)

    def levels(self, number: int, now: float) -> Octets | None:
        """The 512 levels that it shows, as `shown` gives them; cheap where one alone drives all of it."""
        live = self.live(number, now)
        if len(live) == 1 and (live[0].protocol == "artnet" or live[0].each(now) is None):
            return live[0].levels()
        shown = merge(live, now)
        return None if shown is None else shown.levels

    def undriven(self, number: int, now: float) -> Bools | None:
        """(512,) slots that those who drive it leave to others (START code 0xDD, priority 0); None: none."""
        live = self.live(number, now)
        if all(source.protocol == "artnet" or source.each(now) is None for source in live):
            return None
        shown = merge(live, now)
        return None if shown is None else shown.drivers < 0

    def names(self, number: int, now: float) -> tuple[str, ...]:
        """What those are called that drive it now; by their address where nobody knows."""
        return tuple(source.name or source.address for source in self.live(number, now))

    def exceeded(self, number: int, now: float) -> int:
        """How many packets of sources beyond what there is room for; 0 once none came for a while."""
        universe = self._universes.get(number)
        if universe is None or now - universe.exceeded_at >= _LISTED_S:
            return 0
        return universe.exceeded

    def has_room(self, number: int, one: Source, now: float) -> bool:
        """Whether that one is kept account of on a universe as soon as it is heard there."""
        universe = self._universes.get(number)
        return universe is not None and _has_room(universe, one, now)

    def universes(self) -> list[int]:
        """Those on which somebody is, or was a moment ago."""
        return sorted(number for number, one in self._universes.items() if one.sources)


def _admit(universe: Universe, key: _Key, new: Source, now: float) -> bool:
    """Whether there is room for one more, or it takes the place of one that ranks below it."""
    if len(universe.sources) >= MOST:
        least = min(universe.sources, key=lambda one: _rank(universe.sources[one], now))
        if not universe.sources[least].has_ended(now):
            if now - universe.exceeded_at >= _LISTED_S:
                universe.exceeded = 0
            universe.exceeded += 1
            universe.exceeded_at = now
            if not _has_room(universe, new, now):
                return False
        del universe.sources[least]
    universe.sources[key] = new
    return True


def _has_room(universe: Universe, new: Source, now: float) -> bool:
    """Whether there is a place for it, or it ranks above the least of those that are there."""
    ranks = [_rank(source, now) for source in universe.sources.values()]
    return len(ranks) < MOST or (True, new.priority, new.id, new.number) > min(ranks)


def _rank(source: Source, now: float) -> tuple[bool, int, str, int]:
    return not source.has_ended(now), source.priority, source.id, source.number
