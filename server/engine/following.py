"""The universes that follow a console: what it sends, how it stands, and what of it is passed through."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from server.engine.heard import Heard
from server.rig.compiled import Bools, Compiled, Floats, Ints, compile_rig
from server.rig.levels import UNSET, Beneath
from server.rig.universe import SLOTS
from server.stage.shared import Shared
from server.stage.state import State

__all__ = ["LISTEN_S", "LOOK_S", "Followed", "Following", "Standing"]

LISTEN_S = 2.5  # E1.31-2018, 6.7.1: who has not been heard for so long does not send
WHOLE = ("above", "alone")  # where master and blackout act on all of it
LOOK_S = 0.25  # how often somebody who sends nothing any more is looked for
STOOD_S = 1.0  # late by so much, it was this process that stood still: what came meanwhile is read first

Frame = NDArray[np.uint8]
Standing = Literal["live", "held", "baseline", "unheard"]


@dataclass(slots=True)
class Followed:
    """One universe that follows. Times are seconds of the engine's clock.

    standing: `live`: it is heard. `held`: it went, its last levels stay. `baseline`: it went, and all that it
    had is in our base. `unheard`: nobody has been heard yet. since: when that began. names: who is heard, or
    was last. levels: 512, that stand for the console's, also when it is not heard; None: none do. listens:
    so long nothing is known, and nothing begins there. returned: when it came back. undriven: (512,) slots
    that it leaves to others; None: none.
    """

    universe: int
    shared: Shared
    standing: Standing
    since: float
    names: tuple[str, ...] = ()
    levels: Frame | None = None
    listens: float = 0.0
    returned: float | None = None
    undriven: Bools | None = None

    @property
    def given(self) -> bool:
        """Whether `levels` are what lies beneath, rather than our own base."""
        held = self.standing == "unheard" and self.levels is not None
        return self.standing in ("live", "held") or held


class Following:
    """rows: (rows,) whether a console has them while nobody of us does. whole: (rows,) master and blackout
    act on these, as we outrank the console there. universe: (rows,) where in the frame each lies, or -1.
    units: (fixtures,) those that have any such row. given: (rows,) whether it has them now.
    """

    def __init__(self, heard: Heard) -> None:
        self._heard = heard
        self._ears: dict[int, Followed] = {}
        self._bare: dict[int, tuple[Frame, float, float]] = {}
        self._due: set[int] = set()
        self._next_look = -np.inf
        self._began = False
        self._lay_rows(compile_rig((), {}), {})

    @property
    def all(self) -> tuple[Followed, ...]:
        """Every universe that follows, by its number."""
        return tuple(self._ears[universe] for universe in sorted(self._ears))

    def __bool__(self) -> bool:
        return bool(self._ears)

    def follows(self, universe: int) -> bool:
        """Whether that one does."""
        return universe in self._ears

    def is_given(self, universe: int) -> bool:
        """Whether a console's levels lie beneath there, also held ones, rather than our own base."""
        ear = self._ears.get(universe)
        return ear is not None and ear.given

    def undriven(self, universe: int) -> Bools:
        """(512,) slots there that the console leaves to others."""
        ear = self._ears.get(universe)
        return np.zeros(SLOTS, np.bool_) if ear is None or ear.undriven is None else ear.undriven

    def lay_out(self, rig: Compiled, state: State, now: float) -> set[int]:
        """Follow what the state says, on that rig: universes where it is another than before."""
        wanted = {u: s for u in rig.universes if (s := state.shared_as(u)).follow}
        turned = {u for u in self._ears.keys() ^ wanted.keys() if u in rig.universes}
        if not self._ears:
            self._next_look = -np.inf
        self._ears = {u: self._ears.get(u) or self._begin(u, s, now) for u, s in wanted.items()}
        for universe, shared in wanted.items():
            ear = self._ears[universe]
            if _turns(ear, shared, state):
                turned.add(universe)
            ear.shared = shared
            if ear.standing in ("held", "baseline"):
                ear.standing = "held" if shared.gone == "hold" else "baseline"
        self._began = True
        self._lay_rows(rig, wanted)
        return turned

    def _begin(self, universe: int, shared: Shared, now: float) -> Followed:
        levels = self._heard.levels(universe, now)
        if levels is not None:
            names, undriven = self._heard.names(universe, now), self._heard.undriven(universe, now)
            return Followed(universe, shared, "live", now, names, levels, undriven=undriven)
        # What left before a restart stands for a console that is still there, and for what was in hands.
        kept = None if self._began else self._heard.picture(universe)
        silent = kept is None and not self._heard.leaves(universe)
        listens = now + LISTEN_S if silent or kept is not None else now
        picture = None if kept is None else np.frombuffer(kept, np.uint8)
        return Followed(universe, shared, "unheard", now, (), picture, listens)

    def _lay_rows(self, rig: Compiled, wanted: Mapping[int, Shared]) -> None:
        self._rig = rig
        count = len(rig.universes)
        self._on = np.array([u in wanted for u in rig.universes], np.bool_)
        whole = [u in wanted and wanted[u].join in WHOLE for u in rig.universes]
        self.universe = np.full(len(rig.names), -1, np.int64)
        self.universe[rig.slot_row] = rig.slot_at // SLOTS
        self._lay_virtual()
        there = self.universe >= 0
        self.rows = there & self._of(self._on)
        self.whole = self.rows & self._of(np.array(whole, np.bool_)) & ~rig.guarded
        scaled = rig.scaler >= 0
        self.units = (
            np.logical_or.reduceat(self.rows, rig.starts) if len(rig.starts) else np.zeros(0, np.bool_)
        )
        self._alone = self.rows & scaled & ~self.rows[rig.scaler]
        self._free = (rig.owned < 0) & self._on[:, None] & ~rig.pinned
        self._mine = self._on[:, None] & ~rig.pinned
        slots = np.flatnonzero(self.rows[rig.slot_row])
        self._at, self._row = rig.slot_at[slots], rig.slot_row[slots]
        self._weight = 2.0 ** rig.slot_shift[slots]
        self.picture = np.zeros((count, SLOTS), np.uint8)
        self.raw = np.zeros(len(rig.names))
        self._draw(self._ears)

    def _lay_virtual(self) -> None:
        """A virtual intensity lies where all of its colours do, and else nowhere."""
        rig = self._rig
        rows = np.flatnonzero(rig.scaler >= 0)
        rows = rows[np.argsort(rig.scaler[rows], kind="stable")]
        masters, firsts = np.unique(rig.scaler[rows], return_index=True)
        if len(masters):
            places = self.universe[rows]
            first, last = np.minimum.reduceat(places, firsts), np.maximum.reduceat(places, firsts)
            here = (first == last) & (self.universe[masters] < 0)
            self.universe[masters[here]] = first[here]
        self._virtual, self._scaled, self._firsts = masters, rows, firsts

    def _of(self, universes: Bools) -> Bools:
        """(rows,) what (universes,) says of the one that each row lies on; False where it is on none."""
        return np.append(universes, False)[self.universe]

    def _draw(self, universes: Iterable[int]) -> None:
        for universe in universes:
            levels, index = self._ears[universe].levels, self._rig.universe_index(universe)
            if levels is not None and index is not None:
                self.picture[index] = levels
        given = [u in self._ears and self._ears[u].given for u in self._rig.universes]
        self._given = np.array(given, np.bool_)
        self.given = self.rows & self._of(self._given)
        rig = self._rig
        lying = self.picture.reshape(-1)[self._at] * self._weight
        raw: Floats = np.bincount(self._row, lying, len(rig.names)).astype(np.float64)
        raw = np.where(rig.inverted, rig.maximum - raw, raw)
        raw[self._virtual] = rig.maximum[self._virtual]  # a console knows none: nothing scales
        self.raw = raw

    def lead(self, master: float) -> Floats:
        """(rows,) raw: what a fade from here begins at, on which the master has yet to act."""
        divided = self.rows & ~self.whole & self._rig.mastered
        if not 0 < master < 1 or not divided.any():
            return self.raw
        return np.where(divided, np.minimum(self.raw / master, self._rig.maximum), self.raw)

    def stir(self, universe: int) -> bool:
        """Something was heard there; whether that concerns us."""
        if universe not in self._ears:
            return False
        self._due.add(universe)
        return True

    def read(self, now: float) -> set[int]:
        """Take in what was heard since: universes whose console came, went, or came back."""
        due, self._due = self._due & self._ears.keys(), set()
        if now >= self._next_look:
            late, self._next_look = now - self._next_look, now + LOOK_S
            due = set() if STOOD_S < late < np.inf else set(self._ears)
        turned = {universe for universe in due if self._look(self._ears[universe], now)}
        if due:
            self._draw(due)
        return turned

    def _look(self, ear: Followed, now: float) -> bool:
        levels = self._heard.levels(ear.universe, now)
        if levels is not None:
            came = ear.standing != "live"
            if came:
                ear.returned = now if ear.standing in ("held", "baseline") else None
                ear.standing, ear.since = "live", now
            ear.levels, ear.names = levels, self._heard.names(ear.universe, now)
            ear.undriven = self._heard.undriven(ear.universe, now)
            return came
        if ear.standing == "live":
            ear.standing, ear.since = ("held" if ear.shared.gone == "hold" else "baseline"), now
            return not ear.given
        kept = ear.standing == "unheard" and ear.levels is not None
        if kept and now >= ear.listens and ear.shared.gone == "baseline":
            ear.levels = None
            return True
        return False

    def waits(self, universe: int, now: float) -> bool:
        """Whether nothing is to begin there yet, because a console may be there and is not known."""
        ear = self._ears.get(universe)
        return ear is not None and ear.levels is None and now < ear.listens

    def drives(self, universe: int, now: float) -> bool:
        """Whether what lies beneath there is the console's to send, rather than ours for it."""
        ear = self._ears.get(universe)
        return ear is not None and (ear.standing == "live" or now < ear.listens)

    def was_seen(self, universe: int, now: float) -> bool:
        """Whether what left there until now has been seen, where another base comes in its place.

        A fade to a console that ranks above us would only hold up what that sends.
        """
        driven = self.drives(universe, now)
        return self._heard.shows(universe, now) if driven else self._heard.leaves(universe)

    def beneath(self, share: Floats, ours: Bools, frozen: Floats, master: float, blackout: bool) -> Beneath:
        """What lies beneath. share: (rows,) how much of each is heard, as the fades say. ours: (rows,) what
        else is ours of it now. frozen: NaN where nothing is held still.
        """
        rig, raw = self._rig, self.raw.copy()
        passed = self.rows & (share >= 1) & ~ours & np.isnan(frozen)
        if master < 1:
            acts = self.whole & rig.mastered
            raw[acts] *= master
            passed &= ~acts
        if blackout:
            acts = self.whole & rig.dark
            raw[acts] = 0
            passed &= ~acts
        scales = (rig.scaler >= 0) & ~self._alone
        passed[scales] &= passed[rig.scaler[scales]]
        return Beneath(raw, share, passed, passed | (self.rows & ~np.isnan(frozen)), self._alone)

    def begin_bare(self, universes: Iterable[int], frame: Frame, now: float, seconds: float) -> None:
        """Slots of no fixture go from what they are in (universes, 512) to what they are to be."""
        for universe in universes:
            index = self._rig.universe_index(universe)
            if index is not None:
                self._bare[universe] = (frame[index].copy(), now, seconds)

    def moving(self, now: float, universe: int | None = None) -> bool:
        """Whether slots of no fixture are still on their way, anywhere or there."""
        spans = [span for at, span in self._bare.items() if universe in (None, at)]
        return any(now < began + seconds for _, began, seconds in spans)

    def carries(self, universe: int, share: Floats, follows: Bools, now: float) -> bool:
        """Whether all that is not ours there is what the console sends. share, follows: as the fades say."""
        ear, index = self._ears.get(universe), self._rig.universe_index(universe)
        if ear is None or ear.standing != "live" or self.moving(now, universe):
            return False
        here = (self.universe == index) & follows
        return bool((share[here] >= 1).all())

    def lay_over(self, frame: Frame, passed: Bools, by_hand: NDArray[np.int16], now: float) -> Bools:
        """Copy what is passed through into (universes, 512), octet by octet: which slots those are.

        passed: (rows,). by_hand: as `slots_of` takes it.
        """
        through = (np.append(passed, False)[self._rig.owned]) & self._mine
        bare = self._free & (by_hand == UNSET) & self._given[:, None]
        through |= bare
        np.copyto(frame, self.picture, where=through)
        for universe, (start, began, seconds) in tuple(self._bare.items()):
            index = self._rig.universe_index(universe)
            if now >= began + seconds or index is None:
                del self._bare[universe]
                continue
            own = (self._rig.owned[index] < 0) & (by_hand[index] == UNSET) & ~self._rig.pinned[index]
            to = self.picture[index] if self._given[index] else np.zeros(SLOTS, np.uint8)
            way = start + (to.astype(np.float64) - start) * ((now - began) / seconds)
            frame[index, own] = np.floor(way + 0.5)[own].astype(np.uint8)
            through[index] &= ~own
        return through

    def values(self, fixture: str) -> dict[str, int]:
        """What the console sends to a fixture, raw by control key, as far as it lies beneath."""
        if not self._ears:
            return {}
        first, last = self._rig.span.get(fixture, (0, 0))
        rows = np.flatnonzero(self.given[first:last]) + first
        return {self._rig.names[row][1]: int(self.raw[row]) for row in rows.tolist()}

    def lit(self, raw: Ints, passed: Bools) -> Ints:
        """(rows,) the raw values to tell how far up a fixture is: a virtual intensity nobody has set is as
        far up as its strongest colour.
        """
        if not len(self._virtual):
            return raw
        strongest = np.maximum.reduceat(raw[self._scaled] / self._rig.maximum[self._scaled], self._firsts)
        shown, at = raw.copy(), passed[self._virtual]
        shown[self._virtual[at]] = (strongest * self._rig.maximum[self._virtual])[at]
        return shown


def _turns(ear: Followed, shared: Shared, state: State) -> bool:
    """Whether what leaves is another by that decision: to outrank the console or not is none by itself."""
    dimmed = state.blackout or state.master < 1
    whole = (ear.shared.join in WHOLE) != (shared.join in WHOLE)
    return (dimmed and whole) or (ear.standing in ("held", "baseline") and ear.shared.gone != shared.gone)
