"""Which slots are ours where only those outrank a console (START code 0xDD)."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from server.engine.following import Following
from server.rig.compiled import Bools, Compiled
from server.rig.levels import UNSET
from server.rig.universe import SLOTS

__all__ = ["priorities_of"]


def priorities_of(
    rig: Compiled,
    following: Following,
    through: Bools | None,
    by_hand: NDArray[np.int16],
    wanted: Mapping[int, tuple[int, int]],
) -> list[bytes]:
    """512 priorities of each universe of `rig`; none where none are wanted.

    through: (universes, 512) slots that are passed through; None: none are. by_hand: as `slots_of` takes it.
    wanted: the priority of slots that are ours, and of all others, by universe. Where nothing stands for a
    console, no slot is ours more than another. Off limits, and what a console leaves to others, have 0: that
    level is not meant.
    """
    each = [b""] * len(rig.universes)
    for universe, (outrank, rest) in wanted.items():
        index = rig.universe_index(universe)
        if index is None:
            continue
        if not following.follows(universe):
            ours = (rig.owned[index] >= 0) | (by_hand[index] != UNSET)
        elif through is not None and following.is_given(universe):
            ours = ~through[index]
        else:
            ours = np.zeros(SLOTS, np.bool_)
        ranked = np.where(ours, outrank, rest)
        ranked[rig.pinned[index] | (following.undriven(universe) & ~ours)] = 0
        each[index] = ranked.astype(np.uint8).tobytes()
    return each
