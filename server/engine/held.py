"""Controls that do not do what is asked of them: held still, or acting for a while."""

from collections.abc import Mapping

import numpy as np

from server.rig.compiled import Bools, Compiled, Floats, Ints
from server.stage.state import State

__all__ = ["Held"]


class Held:
    """frozen: (rows,) raw values that controls are held at, NaN elsewhere. acting: raw and end, by row."""

    def __init__(self, rig: Compiled, acting: Mapping[int, tuple[int, float]]) -> None:
        self._rig = rig
        self.frozen = np.full(len(rig.names), np.nan)
        self.acting = dict(acting)

    def lay_out(self, state: State, still: Mapping[int, float], follows: Bools) -> None:
        """Hold what the state says is held. still: where it is held already, by row."""
        for fixture in state.hands_on.keys() | state.still.keys() | state.out_of_use.keys():
            for key, raw in state.frozen(fixture).items():
                if (row := self._rig.row.get((fixture, key))) is not None:
                    before = still.get(row, np.nan)
                    self.frozen[row] = self._resting(row, raw, follows) if np.isnan(before) else before

    def freeze(self, fixture: str, frozen: Mapping[str, int], follows: Bools) -> Ints:
        """Hold these raw values, by control key, and free its other controls: their rows.

        follows: (rows,) whether a console drives it while we do not.
        """
        freed = list[int]()
        for row in range(*self._rig.span.get(fixture, (0, 0))):
            held, raw = not np.isnan(self.frozen[row]), frozen.get(self._rig.names[row][1])
            if raw is not None:
                # An action under way ends: a reset must not be held for as long as hands are on.
                self.acting.pop(row, None)
                self.frozen[row] = self.frozen[row] if held else self._resting(row, raw, follows)
            elif held:
                freed.append(row)
        return np.array(freed, np.int64)

    def _resting(self, row: int, raw: int, follows: Bools) -> float:
        # Of an action of ours only the engine's own clock knows; one of a console's shows in its level.
        acts = any(f.action for f in self._rig.controls[row].functions_at(raw))
        return float(self._rig.safe[row] if acts and follows[row] else raw)

    def act(self, fixture: str, key: str, raw: int, until: float) -> None:
        """Send that raw value until then."""
        row = self._rig.row.get((fixture, key))
        if row is not None:
            self.acting[row] = (raw, until)

    def run(self, fixture: str, raws: Mapping[str, int], now: float, for_s: float) -> None:
        """Send these raw values for so long; 0: no longer."""
        for key, raw in raws.items():
            row = self._rig.row.get((fixture, key))
            if row is not None and for_s > 0:
                self.acting[row] = (raw, now + for_s)
            elif row is not None:
                self.acting.pop(row, None)

    def stop(self, fixture: str) -> None:
        """End what guarded controls of that fixture do."""
        for row in range(*self._rig.span.get(fixture, (0, 0))):
            if self._rig.guarded[row]:
                self.acting.pop(row, None)

    def acts(self, asked: Floats, now: float) -> Bools:
        """Put what acts into (rows,) raw values; which rows those are."""
        armed = np.zeros(len(asked), np.bool_)
        for row, (raw, until) in tuple(self.acting.items()):
            if now >= until:
                del self.acting[row]
            else:
                asked[row], armed[row] = raw, True
        return armed
