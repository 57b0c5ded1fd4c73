"""When a universe is due, and when its source is announced. Time is handed in: monotonic seconds."""

from math import ceil, floor, inf

__all__ = [
    "CLOSEST_S",
    "FRAME_S",
    "KEEP_ALIVE_S",
    "REPEATS",
    "TOGETHER_S",
    "Announcements",
    "Farewell",
    "Pace",
    "Rank",
    "rested",
]

# One DMX512 packet of 513 slots takes 22.68 ms: a node passes on 44 a second at most (E1.31-2018, 6.6.1).
_MOST_HZ = 44.0
FRAME_S = 1 / _MOST_HZ
# Universes due within this time go together: one wake-up for all is worth more than their being apart.
TOGETHER_S = 0.0002
# After a late packet the next comes sooner, to be back on the grid, but never 22.1 ms or less after it.
CLOSEST_S = 0.0221 + TOGETHER_S
_APART_S = 0.2
REPEATS = 3  # E1.31-2018, 6.6.2 (1); counted after the change, so "three in all" holds too
KEEP_ALIVE_S = 0.9  # 6.6.2 (2) asks for 0.8 to 1.0; Art-Net 4 recommends the same
_OFTEN_S, _SELDOM_S = 0.8, 0.99  # between two packets of priorities, where frames are that close
# Quiet universes send on common tenths of a second: 256 would else wake the process 280 times a second.
_TENTH_S = 0.1


class Pace:
    """When one universe sends next: `due`, infinity until its first picture; `last`, when it sent.

    On a change at once; while in motion on a grid of 1/44 s counted from that packet, so that nothing drifts;
    after the last change three equal packets, then one each 0.9 s (the first 0.85 to 0.95 s later). Steady:
    the grid all the time. Of a lower rate the grid is as much wider, and a keep-alive has to wait for it.
    A frame that is more than half over when its turn comes is left out, never made up for.
    """

    __slots__ = ("_anchor", "_frame", "_owed", "closest_s", "due", "frame_s", "last", "steady")

    def __init__(self, steady: bool = False, most_hz: float = _MOST_HZ) -> None:
        """most_hz: 44 at most."""
        self.steady = steady
        # The usual ones are the same two numbers for all, which a processor that was elsewhere fetches once.
        self.frame_s = FRAME_S if most_hz == _MOST_HZ else 1 / most_hz
        self.closest_s = CLOSEST_S if most_hz == _MOST_HZ else self.frame_s - (FRAME_S - CLOSEST_S)
        self.due = inf
        self._anchor = inf
        self._frame = 0
        self.last = -inf
        self._owed = 0  # packets still to come on the grid: the change itself and its repeats

    @property
    def moves(self) -> bool:
        """Whether what goes next is on the grid."""
        return self._owed > 0 or self.steady

    @property
    def ends_motion(self) -> bool:
        """Whether what goes next is the last repeat after a change, or a keep-alive."""
        return self._owed <= 1 and not self.steady

    def changed(self, now: float) -> None:
        """There is a new picture: send it as soon as may be, then the repeats."""
        if not self._owed and not (self.steady and self.due < inf):
            self._begin(now)
        self._owed = 1 + REPEATS

    def sent(self, now: float) -> None:
        """A packet left at `now`; sets `due` to the next."""
        self.last = now
        if not self._frame:
            self._anchor = now
        if self._owed:
            self._owed -= 1
        if not (self._owed or self.steady):
            self.due = max(rested(now), now + self.closest_s)
            return
        self._frame += 1
        self.due = self._anchor + self._frame * self.frame_s
        if self.due < now + self.closest_s:
            self._catch_up(now)

    def _begin(self, now: float) -> None:
        self._anchor = self.due = max(now, self.last + self.closest_s)
        self._frame = 0

    def _catch_up(self, now: float) -> None:
        self._frame = max(self._frame, ceil((now - self._anchor) / self.frame_s + 0.5))
        self.due = max(self._anchor + self._frame * self.frame_s, now + self.closest_s)

    def rest_until(self, due: float) -> None:
        """Nothing changes, and the next keep-alive is due then at the latest."""
        if not (self._owed or self.steady):
            self.due = max(min(self.due, due), self.last + self.closest_s)

    def not_soon_after(self, last: float) -> None:
        """Another packet left for the same place then."""
        self.last = max(self.last, last)
        if self.due < self.last + self.closest_s:
            self._begin(self.last)

    def set_steady(self, steady: bool, now: float) -> None:
        """Stream all the time from now on, or stop doing so."""
        if steady == self.steady:
            return
        self.steady = steady
        if self.due < inf and not self._owed:
            self._begin(now)


def rested(last: float) -> float:
    """When the next keep-alive is due after a packet that left then."""
    return floor((last + KEEP_ALIVE_S) / _TENTH_S + 0.5) * _TENTH_S if last > -inf else -inf


class Rank:
    """Which frames of a universe carry the priorities of its slots too.

    After a change of theirs the first and its three repeats, and then one each 0.8 to 1.0 s, as the note on
    START code 0xDD has it; also the last frame of a motion, so that the next may come with the keep-alive.
    """

    __slots__ = ("_last", "_often_s", "_owed")

    def __init__(self, frame_s: float = FRAME_S) -> None:
        """frame_s: between two frames of the universe while it is in motion."""
        self._owed = 1 + REPEATS
        self._last = -inf
        self._often_s = min(_OFTEN_S, _SELDOM_S - frame_s)

    def changed(self) -> None:
        """There are new priorities, or a receiver may not have heard any."""
        self._owed = 1 + REPEATS

    def goes(self, now: float, ends_motion: bool) -> bool:
        """Whether they go with the frame that leaves now."""
        if not (self._owed or ends_motion or now - self._last >= self._often_s):
            return False
        self._owed = max(self._owed - 1, 0)
        self._last = now
        return True


class Farewell:
    """When the packets that end a stream leave: a few, a frame apart, then never again (`due` infinity).

    last: when one did, or else the last packet of the stream.
    """

    __slots__ = ("_apart_s", "_left", "due", "last")

    def __init__(self, first: float, packets: int, frame_s: float = FRAME_S, last: float = -inf) -> None:
        """frame_s: of the stream that ends; of a slow one they come sooner, for nobody waits long."""
        self.due = first
        self.last = last
        self._left = packets
        self._apart_s = min(frame_s, _APART_S)

    def sent(self, now: float) -> None:
        """One left at `now`."""
        self.last = now
        self._left -= 1
        self.due = now + self._apart_s if self._left else inf


class Announcements:
    """When the list of universes is sent: every `interval_s`, and at most once more in between.

    Source: E1.31-2018, 4.3 and 8 (universe discovery).
    """

    def __init__(self, interval_s: float) -> None:
        self.due = inf
        self._interval_s = interval_s
        self._regular = inf
        self._extra_left = True

    def changed(self, now: float) -> None:
        """The list is another one: say so now if the interval's one extra is not used up."""
        if self._regular == inf:
            self._regular = self.due = now
        elif self._extra_left:
            self._extra_left = False
            self.due = now

    def sent(self, now: float) -> None:
        """The list left at `now`."""
        if now >= self._regular:
            self._regular = now + self._interval_s
            self._extra_left = True
        self.due = self._regular
