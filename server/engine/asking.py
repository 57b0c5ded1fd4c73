"""What is asked of every control and every bare slot of the rig as it is laid out."""

from collections.abc import Iterable, Mapping

import numpy as np

from server.engine.breath import Breath
from server.engine.fade import Fades
from server.engine.following import Following
from server.engine.held import Held
from server.rig.compiled import Bools, Compiled, Floats, Ints
from server.rig.levels import UNSET, Beneath, Mixer, settle
from server.rig.universe import SLOTS
from server.stage.events import SlotSet
from server.stage.near import SLOW_S
from server.stage.state import State

__all__ = ["Asking"]


class Asking:
    """fades: raw values on their way. held: what does not do as it is asked. by_hand: (universes, 512) levels
    on bare slots, UNSET elsewhere.
    """

    def __init__(
        self,
        state: State,
        following: Following,
        rig: Compiled,
        still: Mapping[int, float] | None = None,
        acting: Mapping[int, tuple[int, float]] | None = None,
    ) -> None:
        """still, acting: what `held` has of them already, by row."""
        self._state, self._following, self._rig = state, following, rig
        targets = np.concatenate([np.zeros(0), *(self._asked(fixture) for fixture in rig.span)])
        # What is guarded is never between a console's value and its safe one.
        self.fades = Fades(targets, rig.snap | rig.guarded, following.lead(state.master))
        self.held = Held(rig, acting or {})
        self.held.lay_out(state, still or {}, following.rows)
        self.by_hand = np.full((len(rig.universes), SLOTS), UNSET, np.int16)
        for universe, slots in state.slots.items():
            index = rig.universe_index(universe)
            for slot, level in slots.items():
                if index is not None:
                    self.by_hand[index, slot - 1] = level.raw

    def go(self, fixture: str, raws: Mapping[str, int | None], now: float, seconds: float) -> None:
        """Send controls to these raw values; None: to what lies under the hands."""
        known = [(self._rig.row[fixture, key], raw) for key, raw in raws.items() if raw is not None]
        if known:
            rows, targets = zip(*known, strict=True)
            self.fades.go(np.array(rows), np.array(targets, np.float64), now, seconds)
        if len(known) < len(raws):
            self.rebase((fixture,), now, seconds)

    def rebase(self, fixtures: Iterable[str], now: float, seconds: float, wait_s: float = 0.0) -> None:
        """Send every control of these fixtures to what is asked of it; those already on their way go on."""
        aim = self.fades.aim
        for fixture in fixtures:
            if fixture not in self._rig.span:
                continue
            first, last = self._rig.span[fixture]
            targets = self._asked(fixture)
            rows = np.flatnonzero(_differ(targets, aim[first:last]))
            if len(rows):
                self.fades.go(rows + first, targets[rows], now, seconds, wait_s=wait_s)

    def turn(self, universes: Mapping[int, float], now: float) -> None:
        """Another base lies under these universes, which it takes so many seconds to come to, by universe."""
        for universe, seconds in universes.items():
            here = self._following.universe == self._rig.universe_index(universe)
            aim = self.fades.aim
            for fixture in {self._rig.names[row][0] for row in np.flatnonzero(here).tolist()}:
                first, last = self._rig.span[fixture]
                targets = self._asked(fixture)
                again = np.isnan(targets) | _differ(targets, aim[first:last])
                rows = np.flatnonzero(again & here[first:last])
                if len(rows):
                    self.fades.go(rows + first, targets[rows], now, seconds)

    def set_slot(self, event: SlotSet) -> bool:
        """Set a bare slot, or give it back; False where its universe is not laid out."""
        index = self._rig.universe_index(event.universe)
        if index is None:
            return False
        self.by_hand[index, event.slot - 1] = UNSET if event.raw is None else event.raw
        return True

    def freeze(self, fixture: str, now: float) -> None:
        """Hold still what the state says of that fixture, and let go of the rest."""
        frozen = self._state.frozen(fixture)
        before = self.held.frozen.copy()
        rows = self.held.freeze(fixture, frozen, self._following.rows)
        if len(rows):
            # Whoever was there is still beside it: what was asked meanwhile comes slowly.
            self.held.frozen[rows] = np.nan
            fade_s = max(self._state.settings.let_go_s, SLOW_S)
            self.fades.go(rows, self.fades.aim[rows], now, fade_s, before[rows])

    def settle(self, now: float, breath: Breath, room: int) -> tuple[Ints, Beneath | None]:
        """(rows,) raw values as they would leave at `now`, and what a console drives beneath them.

        room: flashes that are left in this second.
        """
        state, held, following = self._state, self.held, self._following
        asked, share = self.fades.parts(now)
        breath.laid_on(asked, now)
        armed, beneath = held.acts(asked, now), None
        if following:
            ours = armed.copy()
            ours[breath.rows(now)] = True
            share[armed] = 0.0
            beneath = following.beneath(share, ours, held.frozen, state.master, state.blackout)
            breath.laid_on(beneath.raw, now)
        flashing = np.zeros(len(self._rig.span), np.bool_)
        if state.flashing:
            flashing[[at for at, f in enumerate(self._rig.span) if f in state.flashing]] = True
        how = (held.frozen, armed, flashing, self.lifted, room, beneath)
        return settle(self._rig, asked, Mixer(state.master, state.blackout, *how)), beneath

    def settle_alone(self, rig: Compiled, rows: slice) -> Ints:
        """Raw values of these rows, a rig of their own, while nothing fades, acts, flashes or follows."""
        none = np.zeros(len(rig.maximum), np.bool_)
        mixer = Mixer(
            self._state.master, self._state.blackout, self.held.frozen[rows], none, np.zeros(1, np.bool_)
        )
        return settle(rig, self.fades.target[rows], mixer)

    @property
    def lifted(self) -> int:
        """Index of the fixture that may flash faster than the rest, or -1."""
        lifted, span = self._state.lifted, self._rig.span
        return list(span).index(lifted.fixture) if lifted and lifted.fixture in span else -1

    def moved_to(self, rig: Compiled, now: float) -> "Asking":
        """The same on another layout of the rig, which `following` has already. Fades go on."""
        old = self._rig
        both = [(row, old.row[name]) for row, name in enumerate(rig.names) if name in old.row]
        same = [(row, before) for row, before in both if old.controls[before] is rig.controls[row]]
        # In another mode, what does one thing only goes on from the same share; all else begins anew.
        other = [
            (row, before)
            for row, before in both
            if old.controls[before] is not rig.controls[row] and len(rig.controls[row].functions) == 1
        ]
        still = {row: self.held.frozen[before] for row, before in same}
        acting = {row: self.held.acting[before] for row, before in same if before in self.held.acting}
        new = Asking(self._state, self._following, rig, still, acting)
        fades, aim = new.fades, new.fades.aim
        fades.carry_on(self.fades, np.array(same, np.int64).reshape(-1, 2))
        pairs = np.array(other, np.int64).reshape(-1, 2)
        fades.carry_over(self.fades, pairs, rig.maximum[pairs[:, 0]] / old.maximum[pairs[:, 1]])
        # What came to where a console is followed does at once as that does; what left there goes softly.
        came = np.flatnonzero(np.isnan(aim) & ~fades.follows)
        fades.go(came, aim[came], now, 0.0)
        went = {row: before for row, before in same if fades.follows[row] and not np.isnan(aim[row])}
        if went:
            rows, starts = np.array(list(went)), self.fades.at(now)[list(went.values())]
            fades.go(rows, aim[rows], now, self._state.settings.let_go_s, starts)
        return new

    def _asked(self, fixture: str) -> Floats:
        """Of its controls: raw values, NaN where it is what a console sends."""
        mode = self._state.mode(fixture)
        if mode is None:
            return np.zeros(0)
        asked = self._state.asked(fixture, mode)
        targets = np.array(list(asked.values()), np.float64)
        given = self._following.given[slice(*self._rig.span[fixture])]
        if given.any():
            ours = self._state.ours(fixture)
            targets[given & np.array([key not in ours for key in asked])] = np.nan
        return targets


def _differ(targets: Floats, aim: Floats) -> Bools:
    differ: Bools = (targets != aim) & ~(np.isnan(targets) & np.isnan(aim))
    return differ
