"""Keeps the whole rig to three flashes in any rolling second, whoever makes them, by whatever control."""

from collections import deque

import numpy as np

from server.rig.compiled import Bools, Compiled, Floats, Ints
from server.rig.levels import light_of

__all__ = ["MOST", "WINDOW_S", "FlashLimit"]

MOST = 3  # WCAG 2.2, 2.3.1: no more than three general flashes within any one second
WINDOW_S = 1.0
SWING = 0.1  # the same: opposing changes of 10 % of the maximum ...
DARKER = 0.8  # ... where the darker state is below 80 %


class FlashLimit:
    """Remembers where each fixture's light last turned.

    A flash is a rise and a fall of one fixture's light, or the reverse, the second within a second of the
    first. Those of several fixtures in one frame and one direction are one flash; otherwise they add up, so
    that fixtures flashing in turn count as what a person sees. Steadily fading lights never count, and what
    a console does with controls that are passed through is its own.
    """

    def __init__(
        self, rig: Compiled, raw: Ints, before: "FlashLimit | None" = None, passed: Bools | None = None
    ) -> None:
        """before: the limit of the rig as it was: what has flashed, turned or is held goes on as it was.

        passed: (rows,) passed through from a console.
        """
        self._rig = rig
        self._sent = raw.copy()
        self._passed = passed
        self._extreme = light_of(rig, raw)
        self._rising = np.zeros(len(rig.starts))  # 1 after a rise, -1 after a fall, 0 before any
        self._turned = np.full(len(rig.starts), -np.inf)
        self._flashes: deque[float] = before._flashes if before else deque()
        self._strobed: deque[tuple[float, int]] = before._strobed if before else deque()
        self._lights = rig.intensity | rig.emits | rig.filters
        self._lights[rig.shutters] = True
        self._sizes = np.diff(rig.starts, append=len(raw))
        self.holding = False
        if before is not None:
            self._remember(before)
        self._light = light_of(rig, self._sent)  # of what left last

    def _remember(self, before: "FlashLimit") -> None:
        """Where each fixture's light last turned, and what left of it, under the same names."""
        was, rig = before._rig, self._rig
        place = {fixture: index for index, fixture in enumerate(was.span)}
        both = [(at, place[fixture]) for at, fixture in enumerate(rig.span) if fixture in place]
        now, then = np.array(both, np.int64).reshape(-1, 2).T
        self._extreme[now] = before._extreme[then]
        self._rising[now] = before._rising[then]
        self._turned[now] = before._turned[then]
        for row in np.flatnonzero(self._lights):
            control, old = rig.controls[row], was.row.get(rig.names[row])
            if old is None:
                continue
            if was.controls[old] == control:
                self._sent[row] = before._sent[old]
            elif len(control.functions) == 1:
                # In another mode: as bright as it was. What a shutter's levels mean there is another matter.
                self._sent[row] = int(before._sent[old] / was.maximum[old] * rig.maximum[row] + 0.5)

    def limit(self, raw: Ints, now: float, spent: int = 0, passed: Bools | None = None) -> Ints:
        """What may leave at `now` (seconds): `raw`, with the light of fixtures held that must wait.

        raw: (rows,) as settled. spent: flashes a second that fixtures make by themselves already. passed:
        (rows,) passed through from a console: what these do is not counted, and they are not held.
        A held fixture follows as soon as the second has passed.
        """
        spent = self._spent(now, spent)
        theirs = None if passed is None or self._passed is None else passed & self._passed
        light = light_of(self._rig, raw)
        if theirs is not None:
            self._look_past(raw, light, theirs)
        swing = light - self._extreme
        turns = (np.abs(swing) >= SWING) & (np.sign(swing) != self._rising)
        dark = np.minimum(light, self._extreme) < DARKER
        flashes = turns & dark & (self._rising != 0) & (now - self._turned < WINDOW_S)
        held = np.zeros(len(light), np.bool_)
        for direction in (1, -1):
            these = flashes & (np.sign(swing) == direction)
            if not these.any():
                continue
            if len(self._flashes) + spent < MOST:
                self._flashes.append(now)
            else:
                held |= these
        self._follow(light, turns & ~held, held, now)
        self.holding = bool(held.any())
        rows = np.repeat(held, self._sizes) & self._lights
        if theirs is not None:
            rows &= ~theirs
        self._sent = np.where(rows, self._sent, raw)
        self._passed = passed if passed is None else passed & ~rows
        self._light = light if not self.holding else light_of(self._rig, self._sent)
        return self._sent

    def lets(self, fixture: int, light: float, now: float) -> bool:
        """Whether one fixture alone may come to that light at `now`: then it has. Else ask `limit`.

        fixture: its index. light: as `light_of` says. To be asked only while nothing is held or passed
        through and nothing flashes by itself; what leaves then is to be `put`.
        """
        swing = light - self._extreme[fixture]
        way, before = np.sign(swing), self._rising[fixture]
        turns = abs(swing) >= SWING and way != before
        if turns and before and now - self._turned[fixture] < WINDOW_S:
            return False
        if turns or (swing and way == before):
            self._rising[fixture], self._extreme[fixture], self._turned[fixture] = way, light, now
        self._light[fixture] = light
        return True

    def put(self, rows: slice, raw: Ints) -> None:
        """This leaves of these rows."""
        self._sent[rows] = raw

    def _look_past(self, raw: Ints, light: Floats, theirs: Bools) -> None:
        """Move what light, that of `raw`, is compared with by what a console alone has changed of it."""
        differ = raw != self._sent
        if not (theirs & differ).any():
            return
        if (differ & ~theirs).any():
            light = light_of(self._rig, np.where(theirs, raw, self._sent))
        self._extreme = np.clip(self._extreme + light - self._light, 0.0, 1.0)

    def room(self, now: float) -> int:
        """Flashes that still fit into the second that ends at `now`, those of strobes not counted."""
        while self._flashes and now - self._flashes[0] >= WINDOW_S:
            self._flashes.popleft()
        return MOST - len(self._flashes)

    def _spent(self, now: float, spent: int) -> int:
        """The most that strobes have made of any second up to now: theirs do not end with the strobing."""
        self.room(now)
        if spent:
            self._strobed.append((now, spent))
        while self._strobed and now - self._strobed[0][0] >= WINDOW_S:
            self._strobed.popleft()
        return max((made for _, made in self._strobed), default=0)

    def _follow(self, light: Floats, turns: Bools, held: Bools, now: float) -> None:
        swing = light - self._extreme
        further = ~held & (np.sign(swing) == self._rising) & (swing != 0)
        moved = turns | further
        self._rising[turns] = np.sign(swing[turns])
        self._extreme[moved] = light[moved]
        self._turned[moved] = now
