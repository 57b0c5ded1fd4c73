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
    wanted: Mapping[int, int],
    now: float,
) -> list[bytes]:
    """512 priorities of each universe of `rig`, 0 where a slot is not ours; none where none is wanted.

    through: (universes, 512) slots that are passed through; None: none are. by_hand: as `slots_of` takes it.
    wanted: the priority of what is ours, by universe. What stands for a console that has gone is ours, too,
    and what is off limits never is.
    """
    each = [b""] * len(rig.universes)
    for universe, priority in wanted.items():
        index = rig.universe_index(universe)
        if index is None:
            continue
        if not following.follows(universe):
            ours = (rig.owned[index] >= 0) | (by_hand[index] != UNSET)
        elif through is not None and following.drives(universe, now):
            ours = ~through[index]
        else:
            ours = np.ones(SLOTS, np.bool_)
        each[index] = np.where(ours & ~rig.pinned[index], priority, 0).astype(np.uint8).tobytes()
    return each
