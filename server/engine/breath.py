"""Light that rises and falls slowly, so that who stands under it can tell it from all other light."""

import math
from collections.abc import Iterable

import numpy as np

from server.rig.compiled import Compiled, Floats, Ints

__all__ = ["PERIOD_S", "Breath"]

PERIOD_S = 2.0  # half a time a second: far from the three flashes of WCAG 2.3.1
LOW = 0.1  # never quite dark, and never gone at once
RAMP_S = 1.0  # how long a light takes to join in, and to come to rest


class Breath:
    """The intensities of some fixtures, scaled together. All times are seconds of one monotonic clock."""

    def __init__(self) -> None:
        self._spans: dict[str, tuple[float, float]] = {}  # by fixture: when it joined in, when it left
        self._rows = np.zeros(0, np.int64)
        self._joined, self._left = np.zeros(0), np.zeros(0)
        self._began = self._over = -math.inf

    def follow(self, rig: Compiled, fixtures: Iterable[str], now: float) -> None:
        """From now on these breathe; those that did before come to rest. rig: as it is laid out now."""
        wanted = set(fixtures)
        if not self.at_work(now):
            self._spans, self._began = {}, now
        ended = {f: (since, min(until, now)) for f, (since, until) in self._spans.items() if f not in wanted}
        going = {f: self._spans.get(f, (now, math.inf)) for f in wanted}
        fresh = {f: (now, math.inf) for f, (_, until) in going.items() if until < math.inf}
        self._spans = {f: span for f, span in ended.items() if span[1] > now - RAMP_S} | going | fresh
        self._lay_out(rig)

    def _lay_out(self, rig: Compiled) -> None:
        spans = {f: span for f, span in self._spans.items() if f in rig.span}
        rows = [np.flatnonzero(rig.shows[slice(*rig.span[f])]) + rig.span[f][0] for f in spans]
        times = [np.tile(span, (len(own), 1)) for span, own in zip(spans.values(), rows, strict=True)]
        self._rows = np.concatenate([np.zeros(0, np.int64), *rows])
        both = np.concatenate([np.zeros((0, 2)), *times])
        self._joined, self._left = both[:, 0], both[:, 1]
        self._over = float(self._left.max(initial=-math.inf)) + RAMP_S

    def at_work(self, now: float) -> bool:
        """Whether anything breathes, or is still coming to rest."""
        return now < self._over

    def rows(self, now: float) -> Ints:
        """What it acts on now."""
        return self._rows if self.at_work(now) else self._rows[:0]

    def laid_on(self, asked: Floats, now: float) -> None:
        """Scale (rows,) raw values in place: from full at the beginning down to a tenth and up again."""
        if self.at_work(now):
            turn = 2 * math.pi * (now - self._began) / PERIOD_S
            depth = (1 - LOW) * (0.5 - 0.5 * math.cos(turn))
            share = np.minimum(now - self._joined, RAMP_S + self._left - now) / RAMP_S
            asked[self._rows] *= 1 - depth * np.clip(share, 0.0, 1.0)
