"""What the engine knows of a universe besides its own levels."""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

__all__ = ["NOTHING", "Heard"]

Octets = NDArray[np.uint8]
Bools = NDArray[np.bool_]


class Heard(Protocol):
    """What consoles send, and what has left here."""

    def levels(self, universe: int, now: float) -> Octets | None:
        """The 512 levels that others send there, merged; None: nobody does (any more)."""

    def undriven(self, universe: int, now: float) -> Bools | None:
        """(512,) slots that those leave to others, by the priority they give them; None: none."""

    def names(self, universe: int, now: float) -> tuple[str, ...]:
        """What those are called."""

    def picture(self, universe: int) -> bytes | None:
        """The 512 levels that left last, also before a restart; None: none did."""

    def leaves(self, universe: int) -> bool:
        """Whether anything of ours leaves there, or did a moment ago."""

    def shows(self, universe: int, now: float) -> bool:
        """Whether that is seen: it leaves, and no console that is heard ranks level with it, or above."""


class _Nothing:
    def levels(self, universe: int, now: float) -> Octets | None:
        return None

    def undriven(self, universe: int, now: float) -> Bools | None:
        return None

    def names(self, universe: int, now: float) -> tuple[str, ...]:
        return ()

    def picture(self, universe: int) -> bytes | None:
        return None

    def leaves(self, universe: int) -> bool:
        return True

    def shows(self, universe: int, now: float) -> bool:
        return True


NOTHING: Heard = _Nothing()
