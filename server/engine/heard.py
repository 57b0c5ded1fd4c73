"""What the engine knows of a universe besides its own levels."""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

__all__ = ["NOTHING", "Heard"]

Octets = NDArray[np.uint8]


class Heard(Protocol):
    """What consoles send, and what has left here."""

    def levels(self, universe: int, now: float) -> Octets | None:
        """The 512 levels that others send there, merged; None: nobody does (any more)."""

    def names(self, universe: int, now: float) -> tuple[str, ...]:
        """What those are called."""

    def picture(self, universe: int) -> bytes | None:
        """The 512 levels that left last, also before a restart; None: none did."""

    def leaves(self, universe: int) -> bool:
        """Whether anything of ours leaves there, or did a moment ago."""


class _Nothing:
    def levels(self, universe: int, now: float) -> Octets | None:
        return None

    def names(self, universe: int, now: float) -> tuple[str, ...]:
        return ()

    def picture(self, universe: int) -> bytes | None:
        return None

    def leaves(self, universe: int) -> bool:
        return True


NOTHING: Heard = _Nothing()
