"""The laptop's wall clock, and whether somebody has set it meanwhile."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field

__all__ = ["SLIP_S", "Clock"]

SLIP_S = (
    0.25  # between two clocks that nobody sets it stays below; a clock that is drawn slowly adds up to it
)
AT_ONCE_S = 0.05  # both are read within this time, or once more: a process may be stopped in between


@dataclass(slots=True)
class Clock:
    """Compares the wall clock with one that nobody sets. wall, steady: seconds."""

    wall: Callable[[], float] = time.time
    steady: Callable[[], float] = time.monotonic
    _ahead: float = field(init=False)

    def __post_init__(self) -> None:
        """Now both go together."""
        self._ahead = self._apart()[1]

    def read(self) -> tuple[float, float]:
        """Wall-clock seconds now, and by how many they were set since this was asked last; 0.0 when not.

        A laptop that has slept counts as set on: some systems stop the steady clock meanwhile.
        """
        wall, ahead = self._apart()
        by_s = ahead - self._ahead
        if abs(by_s) < SLIP_S:
            return wall, 0.0
        self._ahead = ahead
        return wall, by_s

    def _apart(self) -> tuple[float, float]:
        while True:
            steady, wall = self.steady(), self.wall()
            if self.steady() - steady < AT_ONCE_S:
                return wall, wall - steady
