"""What a followed console moves, told to phones a little at a time."""

from math import inf

import numpy as np

from server.engine.engine import Engine
from server.stage.state import State

__all__ = ["EVERY_S", "MOST", "Stirred"]

EVERY_S = 0.2  # five times a second: enough to see what it does
MOST = 400  # values at a time: 2,000 a second, whatever a console runs; a phone on a poor link takes that


class Stirred:
    """Goes round what has moved since it was told, units in somebody's hand first."""

    def __init__(self) -> None:
        self._due, self._next = -inf, 0

    def pick(self, engine: Engine, state: State, now: float) -> dict[str, set[str]]:
        """Control keys by fixture, to be told now with how far up it is. now: monotonic seconds."""
        rig, stirred = engine.rig, engine.stirred
        if now < self._due or not stirred.any():
            return {}
        self._due = now + EVERY_S
        units = np.flatnonzero(np.logical_or.reduceat(stirred, rig.starts))
        names = tuple(rig.span)
        at = int(np.searchsorted(units, self._next))
        round_ = [names[unit] for unit in (*units[at:].tolist(), *units[:at].tolist())]
        held = [fixture for fixture in round_ if fixture in state.holders]
        picked = dict[str, set[str]]()
        for count, fixture in enumerate(dict.fromkeys((*held, *round_))):
            first, last = rig.span[fixture]
            if sum(map(len, picked.values())) + last - first > MOST and count:
                break
            rows = np.flatnonzero(stirred[first:last]) + first
            picked[fixture] = {rig.names[row][1] for row in rows.tolist()}
            stirred[rows] = False
            if fixture not in state.holders:
                self._next = names.index(fixture) + 1
        return picked
