"""When the process looks at the map by itself, so that who writes there need not wake it."""

from collections.abc import Iterable

from server.output.shared_map import SharedMap
from server.output.stream import Stream

__all__ = ["Looking"]

_MOST_EARLY_S = 0.002


class Looking:
    """What is promised of each block in the map: a look at that time or after it, and before the next packet.

    A promise is a time, never a state: who wrote before it is seen by that look, whatever either side has
    noticed of the other meanwhile. So no wake-up can be missed, as long as a look follows each promise.
    """

    def __init__(self, shared: SharedMap) -> None:
        self._looks = shared.looks
        for block in range(len(self._looks)):
            self._looks[block] = 0.0  # what a process before this one promised
        self._last = 0.0
        self._early_s = self._took_s = 0.0
        self._looked = 0

    def took(self, began: float, ended: float) -> None:
        """A look that found something lasted from then to then: the next one begins so much earlier.

        Else it would be paid for after the moment at which packets are due, and a frame would last longer.
        """
        self._took_s += min(ended - began, _MOST_EARLY_S)
        self._looked += 1

    def settle(self) -> None:
        """Begin as early as looks since the last call took on average; not at all, where there were none."""
        self._early_s = self._took_s / max(1, self._looked)
        self._took_s, self._looked = 0.0, 0

    def promise(self, streams: Iterable[Stream]) -> None:
        """These have just been sent: of those in motion it is known when they are next."""
        looks, early_s, last = self._looks, self._early_s, self._last
        for stream in streams:
            # Of a lower rate nothing: a faster stream of the same universe may be at rest, and goes at once.
            if stream.fast and stream.pace.moves:
                looks[stream.block] = at = stream.pace.due - early_s
                if at > last:
                    last = at
        self._last = last

    def next(self, due: float, looked: float) -> float:
        """When to look next. due: the next packet; looked: when the last look began."""
        at = due - self._early_s
        if at <= looked:
            at = due
        return min(at, self._last) if looked < self._last else at
