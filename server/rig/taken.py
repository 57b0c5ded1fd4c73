"""Which slots are taken, by which fixture, and where the next free ones are."""

from collections.abc import Iterable, Mapping

from server.rig.patch import Fixture, mode_of, spans
from server.rig.profile import Profile
from server.rig.universe import SLOTS, UNIVERSE_LAST, OffLimits, Reserved

__all__ = ["Taken"]

Owner = Fixture | OffLimits | Reserved


class Taken:
    """Who has each slot of each universe. Of what does not fit into a universe, the slots that do."""

    def __init__(
        self, fixtures: Iterable[Fixture], profiles: Mapping[str, Profile], kept: Iterable[Owner] = ()
    ) -> None:
        """kept: ranges that `free_start` leaves alone as well. Of two that share a slot the first has it."""
        self._profiles = profiles
        self._owners: dict[int, list[Fixture | None]] = {}
        self._kept: dict[int, bytearray] = {}
        for each in kept:
            if not isinstance(each, Fixture):
                self._keep(each.universe, each.first, each.last)
        for fixture in fixtures:
            self.add(fixture)

    def add(self, fixture: Fixture) -> None:
        """It takes its slots, as far as nobody has them."""
        mode = mode_of(fixture, self._profiles)
        for span in spans(fixture, mode) if mode is not None else ():
            first, last = max(1, span.first), min(SLOTS, span.last)
            if first <= last:
                owners = self._owners.setdefault(span.universe, [None] * SLOTS)
                owners[first - 1 : last] = [owner or fixture for owner in owners[first - 1 : last]]
                self._keep(span.universe, first, last)

    def _keep(self, universe: int, first: int, last: int) -> None:
        self._kept.setdefault(universe, bytearray(SLOTS))[first - 1 : last] = b"\1" * (last - first + 1)

    def owners(self, universe: int, first: int, last: int) -> list[Fixture]:
        """Who has any of these slots, in their order."""
        row = self._owners.get(universe)
        found = {owner.id: owner for owner in row[first - 1 : last] if owner} if row else {}
        return list(found.values())

    def free_start(self, universe: int, footprint: int, behind: int = 0) -> int | None:
        """The first start above slot `behind` where so many slots are free, else the first below; or None."""
        row = self._kept.get(universe, bytes(SLOTS))
        room = bytes(max(1, footprint))
        start = row.find(room, behind)
        if start < 0:
            start = row.find(room)
        return start + 1 if start >= 0 else None

    def next_free(self, universe: int, address: int, footprint: int) -> tuple[int, int] | None:
        """Universe and start from that address on where so many slots are free; None: there is no such."""
        room = bytes(max(1, footprint))
        while universe <= UNIVERSE_LAST:
            start = self._kept.get(universe, bytes(SLOTS)).find(room, address - 1)
            if start >= 0:
                return universe, start + 1
            universe, address = universe + 1, 1
        return None
