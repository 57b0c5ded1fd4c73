"""Where every control is on its way from one raw value to another."""

import numpy as np

from server.rig.compiled import Bools, Floats, Ints

__all__ = ["Fades"]


class Fades:
    """(rows,) raw values, each on a straight line in time; rows that snap jump at the start.

    A row whose target is NaN follows: it goes to what is heard, wherever that moves meanwhile, and stays
    there. Positions are computed from the start of a fade, never added up, so a late frame makes no slow
    fade.

    target: raw, of rows that follow what is heard now. follows: (rows,) which do.
    """

    def __init__(self, values: Floats, snap: Bools, heard: Floats | None = None) -> None:
        """values: raw, or NaN. heard: (rows,) what rows that follow go to; `lead` moves it."""
        self.follows = np.isnan(values)
        self._heard = np.zeros(len(values)) if heard is None else heard
        self.target = np.where(self.follows, self._heard, values)
        self._start = self.target.copy()
        self._began = np.zeros(len(values))
        self._seconds = np.zeros(len(values))
        self._snap = snap
        self._until = -np.inf

    @property
    def aim(self) -> Floats:
        """(rows,) the targets as `go` was given them: NaN where a row follows."""
        return np.where(self.follows, np.nan, self.target)

    def lead(self, heard: Floats) -> None:
        """This is heard now: (rows,) raw."""
        self._heard = heard
        self.target = np.where(self.follows, heard, self.target)

    def go(
        self,
        rows: Ints,
        targets: Floats,
        now: float,
        seconds: float,
        starts: Floats | None = None,
        wait_s: float = 0.0,
    ) -> None:
        """Let `rows` reach `targets` (raw) after `seconds`: from `starts`, else from where they are.

        A target of NaN: what is heard. wait_s: before they begin; so long they stay where they are.
        """
        if starts is None:
            starts = self.at(now)[rows] if self.moving(now) else self.target[rows]
        self._start[rows] = starts
        self.follows[rows] = np.isnan(targets)
        self.target[rows] = np.where(np.isnan(targets), self._heard[rows], targets)
        self._began[rows] = now + wait_s
        self._seconds[rows] = np.where(self._snap[rows], 0.0, seconds)
        if seconds + wait_s > 0:
            self._until = max(self._until, now + wait_s + seconds)

    def carry_on(self, other: "Fades", rows: Ints) -> None:
        """Take over what is on its way in `other`. rows: (n, 2), ours and theirs."""
        ours, theirs = rows[:, 0], rows[:, 1]
        for name in ("target", "follows", "_start", "_began", "_seconds"):
            getattr(self, name)[ours] = getattr(other, name)[theirs]
        self._until = other._until
        self.lead(self._heard)

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
        return self._start + (self.target - self._start) * self._share(now)

    def parts(self, now: float) -> tuple[Floats, Floats]:
        """(rows,) what is ours of them, and (rows,) how much of what is heard lies over that, 0..1.

        Of rows that do not follow all is ours: where they are at `now`.
        """
        if now >= self._until:
            return self.target.copy(), self.follows.astype(np.float64)
        share = self._share(now)
        ours = self._start + (self.target - self._start) * np.where(self.follows, 0.0, share)
        return ours, np.where(self.follows, share, 0.0)

    def _share(self, now: float) -> Floats:
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            share = np.clip((now - self._began) / self._seconds, 0.0, 1.0)
        at_once = self._seconds <= 0
        share[at_once] = now >= self._began[at_once]
        return share

    def moving(self, now: float) -> bool:
        """Whether anything is still on its way."""
        return now < self._until
