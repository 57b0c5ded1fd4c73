"""What a universe shows where several sources drive it: priority first, then the highest level."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from server.hearing.source import ARTNET_PRIORITY, SLOTS, Octets, Source, in_order

__all__ = ["Shown", "merge"]

Numbers = np.ndarray[tuple[int], np.dtype[np.int16]]

_ARTNET_MOST = 2  # Data Merging: a third is ignored


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """One universe as a receiver of ours has it; index 0 is slot 1.

    levels: 512 octets, 0 where nobody drives. priorities: of whom drives each slot, 0-200, or -1. drivers: in
    `sources`, whose level that is, or -1. since: when the first of those here came.
    """

    levels: Octets
    priorities: Numbers
    drivers: Numbers
    sources: tuple[Source, ...]
    since: float

    def slots_of(self, source: Source) -> int:
        """How many slots show its level."""
        if source not in self.sources:
            return 0
        return int(np.count_nonzero(self.drivers == self.sources.index(source)))


def merge(live: Sequence[Source], now: float) -> Shown | None:
    """Merge live sources; None where there is none.

    Per slot only the highest priority counts (E1.31-2018, 6.2.3), that of the slot where a source gives one
    (START code 0xDD), and among equals the highest level. Of equal levels the one counts as driving whose
    protocol and id come first, so that nothing depends on who was first to send. Only with Art-Net it does:
    its nodes merge two sources of a Port-Address and ignore a third (Data Merging), and so it is here.
    """
    first = _merged_by_artnet(live)
    here = sorted((s for s in live if s.protocol == "sacn" or s in first), key=in_order)
    if not here:
        return None
    priorities = np.stack([_priorities(source, now) for source in here])
    top = priorities.max(axis=0)
    levels = np.stack([source.levels() for source in here]).astype(np.int16)
    levels[(priorities < top) | (top < 0)] = -1
    drivers = levels.argmax(axis=0).astype(np.int16)
    drivers[top < 0] = -1
    shown = np.maximum(levels.max(axis=0), 0).astype(np.uint8)
    return Shown(shown, top, drivers, tuple(here), min(source.since for source in here))


def _merged_by_artnet(live: Sequence[Source]) -> list[Source]:
    by_number: dict[int, list[Source]] = {}
    for source in sorted((s for s in live if s.protocol == "artnet"), key=lambda s: (s.since, s.id)):
        by_number.setdefault(source.number, []).append(source)
    return [source for each in by_number.values() for source in each[:_ARTNET_MOST]]


def _priorities(source: Source, now: float) -> Numbers:
    if source.protocol == "artnet":
        return np.full(SLOTS, ARTNET_PRIORITY, np.int16)
    each = source.each(now)
    if each is None:
        return np.full(SLOTS, source.priority, np.int16)
    given = each.astype(np.int16)
    given[given == 0] = -1
    return given
