"""Where every control is on its way from one raw value to another."""

import numpy as np

from server.rig.compiled import Bools, Floats, Ints

__all__ = ["Fades"]


class Fades:
    """(rows,) raw values, each on a straight line in time; rows that snap jump at the start.

    Positions are computed from the start of a fade, never added up, so a late frame makes no slow fade.
    """

    def __init__(self, values: Floats, snap: Bools) -> None:
        self.target = values.copy()
        self._start = values.copy()
        self._began = np.zeros(len(values))
        self._seconds = np.zeros(len(values))
        self._snap = snap
        self._until = -np.inf

    def go(
        self,
        rows: Ints,
        targets: Floats,
        now: float,
        seconds: float,
        starts: Floats | None = None,
        wait_s: float = 0.0,
    ) -> None:
        """Let `rows` reach `targets` (raw) after `seconds`: from `starts`, else from where they are now.

        wait_s: before they begin; so long they stay where they are.
        """
        self._start[rows] = self.at(now)[rows] if starts is None else starts
        self.target[rows] = targets
        self._began[rows] = now + wait_s
        self._seconds[rows] = np.where(self._snap[rows], 0.0, seconds)
        if seconds + wait_s > 0:
            self._until = max(self._until, now + wait_s + seconds)

    def carry_on(self, other: "Fades", rows: Ints) -> None:
        """Take over what is on its way in `other`. rows: (n, 2), ours and theirs."""
        ours, theirs = rows[:, 0], rows[:, 1]
        for name in ("target", "_start", "_began", "_seconds"):
            getattr(self, name)[ours] = getattr(other, name)[theirs]
        self._until = other._until

    def carry_over(self, other: "Fades", rows: Ints, scale: Floats) -> None:
        """The same where resolutions differ: `scale` of ours for one of theirs; where they go is ours."""
        ours, theirs = rows[:, 0], rows[:, 1]
        self._start[ours] = other._start[theirs] * scale
        for name in ("_began", "_seconds"):
            getattr(self, name)[ours] = getattr(other, name)[theirs]
        self._until = max(self._until, other._until)

    def at(self, now: float) -> Floats:
        """(rows,) where they are at `now`, not rounded."""
        if now >= self._until:
            return self.target.copy()
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.clip((now - self._began) / self._seconds, 0.0, 1.0)
        at_once = self._seconds <= 0
        share[at_once] = now >= self._began[at_once]
        return self._start + (self.target - self._start) * share

    def moving(self, now: float) -> bool:
        """Whether anything is still on its way."""
        return now < self._until
