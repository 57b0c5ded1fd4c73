"""One universe's part in a pace that several share: in which of the common frames it has something to say."""

from math import inf

from server.output.pacing import REPEATS, Pace, rested

__all__ = ["Part"]

_EARLY_S = 0.05  # a keep-alive goes with a frame that comes so soon before its time


class Part:
    """Like a pace of its own, of which only the moments are common.

    due: when the next common frame is; last: when this universe was in one. It is in those after a change
    and its repeats, and in one each 0.9 s (E1.31-2018, 6.6.2: unchanged levels are not sent at rate), or if
    steady in all of them.
    """

    __slots__ = ("_keep_alive", "_owed", "last", "pace", "steady")

    def __init__(self, pace: Pace, steady: bool, last: float = -inf) -> None:
        """pace: the common one. last: when the universe was sent before."""
        self.pace = pace
        self.steady = steady
        self.last = last
        self._owed = 0
        self._keep_alive = rested(last)

    @property
    def due(self) -> float:
        """Infinity until the first picture of any."""
        return self.pace.due

    @property
    def frame_s(self) -> float:
        """Between two frames in motion."""
        return self.pace.frame_s

    @property
    def closest_s(self) -> float:
        """Between any two."""
        return self.pace.closest_s

    @property
    def moves(self) -> bool:
        """Whether it is in the next common frame for a change, or all the time."""
        return self._owed > 0 or self.steady

    @property
    def ends_motion(self) -> bool:
        """Whether what goes next is the last repeat after a change, or a keep-alive."""
        return self._owed <= 1 and not self.steady

    @property
    def keep_alive(self) -> float:
        """When it is to be in a frame at the latest, though nothing changes."""
        return self._keep_alive

    def goes(self, now: float) -> bool:
        """Whether it is in the frame that leaves now."""
        early_s = min(self.pace.frame_s, _EARLY_S)
        return self.steady or self._owed > 0 or now + early_s >= self._keep_alive

    def changed(self, now: float) -> None:
        """There is a new picture."""
        self._owed = 1 + REPEATS
        self.pace.changed(now)

    def sent(self, now: float) -> None:
        """It was in a frame."""
        self.last, self._owed = now, max(self._owed - 1, 0)
        self._keep_alive = rested(now)

    def not_soon_after(self, last: float) -> None:
        """Another packet left for the same place then."""
        self.last = max(self.last, last)
        self.pace.not_soon_after(last)

    def set_steady(self, steady: bool, now: float) -> None:
        """Be in all frames from now on, or not."""
        self.steady = steady
