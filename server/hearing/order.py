"""Which packets of one source count, by their numbers: it may send the same by more than one way."""

from dataclasses import dataclass
from math import inf
from typing import Literal

from server.wire import e131

__all__ = ["Order"]

# Copies come within milliseconds of each other, and a packet is held up here for less than this. Whoever is
# still behind after it does not send copies: that way goes on by numbers of its own.
_COPIES_S = 0.5


@dataclass(slots=True)
class Order:
    """The sequence of a source (E1.31-2018, 6.7.2), of which IPv4 and IPv6 carry the same packets (9.1).

    Whichever copy of a packet comes first counts, so that one which is lost by one way is there by the other.
    A way that lags is no source that has begun anew, however far it is behind.
    """

    _last: int | None = None
    _way: str = ""
    _at: float = -inf

    def judge(self, sequence: int, way: str, now: float, gone: bool) -> Literal["counts", "late", "copy"]:
        """Take up one more packet, unless it is late or a copy of one that counted.

        way: the address it came from. gone: the source had ended or was lost: its next packet has any number.
        """
        if self._last is not None and now - self._at < _COPIES_S and way != self._way:
            if not 0 < (sequence - self._last) & 255 < 128:
                return "copy"
        elif self._last is not None and not gone and way == self._way and e131.is_late(self._last, sequence):
            return "late"
        self._last, self._way, self._at = sequence, way, now
        return "counts"
