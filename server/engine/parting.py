"""What becomes of the light on slots that a rig leaves empty when another comes in its place."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.rig.compiled import Bools, Compiled, Floats, Ints
from server.rig.levels import UNSET

__all__ = ["Parting", "part"]

Frame = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Parting:
    """A rig that is gone, on its way to 0 since `began`, for `seconds`.

    rig: as it was. sent: (rows,) what lay in its slots but for the master, coarse and fine together. stays:
    (rows,) holds still until the light is gone. mastered, dark: (rows,) master and blackout act. bare:
    (universes, 512) levels of slots that no fixture of it had.
    """

    rig: Compiled
    sent: Floats
    stays: Bools
    mastered: Bools
    dark: Bools
    bare: Floats
    began: float
    seconds: float

    def moving(self, now: float) -> bool:
        """Whether any of it is still to go."""
        return now < self.began + self.seconds

    def lay_under(
        self, frame: Frame, rig: Compiled, by_hand: NDArray[np.int16], now: float, master: float | None
    ) -> None:
        """Put it into the slots of `frame`, (universes, 512) of `rig`, that nothing there has.

        by_hand: as `slots_of` takes it. master: 0..1; None: blackout, which spares work light.
        """
        if not self.moving(now):
            return
        left = 1.0 - (now - self.began) / self.seconds
        value = np.where(self.stays, self.sent, self.sent * left)
        value[self.mastered] *= 1.0 if master is None else master
        value[self.dark & (master is None)] = 0.0
        raw = np.floor(value + 0.5).astype(np.int64)
        slots = np.floor(self.bare * left + 0.5).astype(np.uint8)
        slots.reshape(-1)[self.rig.slot_at] = (raw[self.rig.slot_row] >> self.rig.slot_shift) & 0xFF
        free = (rig.owned < 0) & (by_hand == UNSET) & ~rig.pinned
        for at, universe in enumerate(self.rig.universes):
            index = rig.universe_index(universe)
            if index is not None:
                frame[index, free[index]] = slots[at, free[index]]


def part(
    rig: Compiled,
    settled: Ints,
    frame: Frame,
    acting: Iterable[int],
    master: float,
    now: float,
    seconds: float,
) -> Parting:
    """A rig that goes now. settled, frame: its raw values and slots as they left last. master: 0..1.

    What is guarded and an action under way (rows `acting`) end at once, and what flashes by itself is held
    steady: nobody asks for it any more. What snaps, and what can flash, does not go through its range: a
    shutter would.
    """
    raw, strobes = settled.copy(), rig.strobes
    flashes = strobes.rates(raw) > 0
    raw[strobes.pin[flashes]] = strobes.steady[flashes]
    mastered, dark = (_with_scaled(rig, rows) for rows in (rig.mastered, rig.dark))
    sent = np.where(rig.inverted, rig.maximum - raw, raw)
    sent[mastered] = np.minimum(sent[mastered] / master, rig.maximum[mastered]) if master else 0.0
    sent[rig.guarded] = 0.0
    sent[list(acting)] = 0.0
    stays = rig.snap.copy()
    stays[np.concatenate([strobes.row, strobes.pin, rig.shutters])] = True
    bare = np.where(rig.owned < 0, frame, 0).astype(np.float64)
    return Parting(rig, sent, stays, mastered, dark, bare, now, seconds)


def _with_scaled(rig: Compiled, rows: Bools) -> Bools:
    """These rows, and the colours that a virtual intensity among them scales."""
    scaled = rig.scaler >= 0
    out = rows.copy()
    out[scaled] |= rows[rig.scaler[scaled]]
    return out
