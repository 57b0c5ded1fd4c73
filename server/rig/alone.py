"""One fixture of a rig as a rig of its own: what it takes to resolve that one and leave the rest as it is."""

from dataclasses import replace

import numpy as np

from server.rig.compiled import Compiled
from server.rig.strobe import Strobes

__all__ = ["alone"]


def alone(rig: Compiled, fixture: str) -> Compiled | None:
    """The rows of that fixture, counted from 0; its slots still lie in the frame of the whole rig.

    Slots that are off limits are none of it. universes, owned, pinned: those of the whole rig. None: it
    shares slots with another one, so that what lands there takes both.
    """
    first, last = rig.span[fixture]
    rows = slice(first, last)
    here = (first <= rig.slot_row) & (rig.slot_row < last)
    at, row, shift = rig.slot_at[here], rig.slot_row[here], rig.slot_shift[here]
    if (rig.owned.reshape(-1)[at] != row).any():
        return None
    free = ~rig.pinned.reshape(-1)[at]
    shutters = (first <= rig.shutters) & (rig.shutters < last)
    capped = (first <= rig.capped) & (rig.capped < last)
    scaler = rig.scaler[rows]
    return replace(
        rig,
        names=rig.names[rows],
        controls=rig.controls[rows],
        row={rig.names[row]: row - first for row in range(first, last)},
        span={fixture: (0, last - first)},
        starts=np.zeros(1, np.int64),
        home=rig.home[rows],
        maximum=rig.maximum[rows],
        safe=rig.safe[rows],
        scaler=np.where(scaler < 0, scaler, scaler - first),
        intensity=rig.intensity[rows],
        shows=rig.shows[rows],
        mastered=rig.mastered[rows],
        dark=rig.dark[rows],
        snap=rig.snap[rows],
        guarded=rig.guarded[rows],
        inverted=rig.inverted[rows],
        capped=rig.capped[capped] - first,
        limit=rig.limit[capped],
        scaled=np.flatnonzero(scaler >= 0),
        guards=np.flatnonzero(rig.guarded[rows]),
        turned=np.flatnonzero(rig.inverted[rows]),
        lights=rig.lights[rows],
        emits=rig.emits[rows],
        filters=rig.filters[rows],
        level_rest=rig.level_rest[rows],
        colour_rest=rig.colour_rest[rows],
        filter_rest=rig.filter_rest[rows],
        shutters=rig.shutters[shutters] - first,
        opens=rig.opens[shutters],
        slot_at=at[free],
        slot_row=row[free] - first,
        slot_shift=shift[free],
        strobes=_strobes(rig.strobes, first, last),
    )


def _strobes(every: Strobes, first: int, last: int) -> Strobes:
    own = (first <= every.row) & (every.row < last)
    return Strobes(
        row=every.row[own] - first,
        by=every.by[own] - first,
        first=every.first[own],
        last=every.last[own],
        table=every.table[own],
        rate=every.rate,
        fixture=np.zeros(int(own.sum()), np.int64),
        pin=every.pin[own] - first,
        steady=every.steady[own],
        maximum=every.maximum[own],
    )
