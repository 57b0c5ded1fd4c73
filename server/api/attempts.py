"""Wrong PINs: a few may be a thumb's mistake, many are somebody trying them all."""

from collections import deque

__all__ = ["Attempts"]

MOST = 10  # in WINDOW_S from one address: a PIN of four digits then lasts for more than half a day
WINDOW_S = 60.0
MOST_ADDRESSES = 1000


class Attempts:
    """Who gave wrong PINs, and when. Time is handed in: seconds that only go forward."""

    def __init__(self) -> None:
        self._wrong: dict[str, deque[float]] = {}

    def wrong(self, address: str, now: float) -> None:
        """A PIN was wrong."""
        times = self._wrong.pop(address, deque(maxlen=MOST))
        times.append(now)
        self._wrong[address] = times  # at the end again: the longest unheard goes first
        if len(self._wrong) > MOST_ADDRESSES:
            del self._wrong[next(iter(self._wrong))]

    def too_many(self, address: str, now: float) -> bool:
        """Whether that address has to wait, right PIN or not."""
        times = self._wrong.get(address, ())
        return sum(1 for at in times if now - at < WINDOW_S) >= MOST
