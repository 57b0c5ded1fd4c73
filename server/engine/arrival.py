"""Where the light of a rig that comes in place of another begins."""

import numpy as np
from numpy.typing import NDArray

from server.rig.compiled import Compiled, Floats
from server.rig.levels import raw_in
from server.rig.universe import SLOTS

__all__ = ["begins"]


def begins(rig: Compiled, before: Compiled, frame: NDArray[np.uint8], master: float) -> Floats:
    """(rows,) of `rig`: the raw value each control begins at so that no slot jumps; NaN: at what is asked.

    before, frame: the rig as it was and the slots it sent last. master: 0..1, as it stands.
    Of a universe that was not sent nobody knows where a head points, so only light begins there, at nothing.
    """
    slots = np.zeros((len(rig.universes), SLOTS), np.uint8)
    fresh = np.ones(len(rig.universes), np.bool_)
    for at, universe in enumerate(rig.universes):
        index = before.universe_index(universe)
        if index is not None:
            slots[at], fresh[at] = frame[index], False
    raw = raw_in(rig, slots)
    unsent = rig.slot_row[fresh[rig.slot_at // SLOTS]]
    raw[unsent] = np.where((rig.intensity | rig.emits)[unsent], 0.0, np.nan)
    if master > 0:  # it is laid on again
        raw[rig.mastered] = np.minimum(raw[rig.mastered] / master, rig.maximum[rig.mastered])
    return raw
