"""Turns the state into slots and hands them to the output process, at once."""

import asyncio
import logging
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress

import numpy as np
from numpy.typing import NDArray

from server.engine.arrival import begins
from server.engine.breath import Breath
from server.engine.fade import Fades
from server.engine.flashes import FlashLimit
from server.engine.parting import Parting, part
from server.engine.sender import Sender
from server.rig.compiled import Bools, Compiled, Floats, Ints, compile_rig
from server.rig.levels import UNSET, Mixer, flashes_of, intensity_of, settle, slots_of
from server.rig.said import Said
from server.rig.universe import SLOTS, OffLimits
from server.stage import events
from server.stage.decide import MOST_UNIVERSES
from server.stage.events import Event
from server.stage.near import SLOW_S
from server.stage.seeking import still_breathing
from server.stage.state import State

__all__ = ["FRAME_S", "Engine"]

FRAME_S = 1 / 44  # E1.11: 512 slots take 22.68 ms; E1.31-2018, 6.6.1 allows no more than that
BREATHER_S = 0.002  # least pause between two frames, so that sixty-four thumbs cost no more than a few
BREATHERS = 3  # and the pause is so many times what the last frame took, however large the rig
LEAVES_S = 1.0  # for so long a universe that its last fixture has left goes on, at 0
RETRY_S = 1.0  # after a frame that could not be made
BREATHES = (events.Sought, events.SeekEnded, events.Taken, events.LetGone)
RESHAPES = (events.FixturePut, events.FixtureRemoved, events.ProfileAdded)

log = logging.getLogger(__name__)


class Engine:
    """Owns the fades and the last frame.

    clock: monotonic seconds. off_limits: what is pinned in every frame. on_universes: told when the set of
    universes changes, before its first frame.
    """

    def __init__(
        self,
        state: State,
        sender: Sender,
        clock: Callable[[], float],
        on_universes: Callable[[tuple[int, ...]], None],
        off_limits: tuple[OffLimits, ...] = (),
    ) -> None:
        self._state, self._sender, self._clock, self._on_universes = state, sender, clock, on_universes
        self._off_limits = off_limits
        self._due = asyncio.Event()
        self._told: tuple[int, ...] | None = None
        self._began = self._next = 0.0
        self._breather_s = BREATHER_S
        self.trouble: Said | None = None
        self.frames = 0
        self._leaving = dict[int, float]()
        self._parting: Parting | None = None
        nothing = compile_rig((), {})
        self._flashes = FlashLimit(nothing, np.zeros(0, np.int64))
        self._breath = Breath()
        self._lay_out(nothing, Fades(np.zeros(0), np.zeros(0, np.bool_)), {}, {})
        self.reshape()

    @property
    def rig(self) -> Compiled:
        """The rig as it is laid out now."""
        return self._rig

    @property
    def frame(self) -> NDArray[np.uint8]:
        """(universes, 512) the slots last handed on, in the order of `rig.universes`."""
        return self._frame

    @property
    def intensities(self) -> Floats:
        """(fixtures,) 0..1 how far each is up as it leaves, in the order of `rig.span`."""
        return self._intensities

    def leaving(self, fixtures: Iterable[str]) -> dict[str, dict[str, int]]:
        """Raw values as they leave now, by fixture and control key; an action under way left out."""
        names, settled, acting = self._rig.names, self._settled, self._acting
        rows = {fixture: range(*self._rig.span.get(fixture, (0, 0))) for fixture in fixtures}
        return {
            fixture: {names[row][1]: int(settled[row]) for row in own if row not in acting}
            for fixture, own in rows.items()
        }

    def took(self, happened: Sequence[Event]) -> None:
        """Follow what has been applied to the state; it leaves now, or with what else was just asked."""
        now = self._clock()
        replaced = [event for event in happened if isinstance(event, events.ShowReplaced)]
        if replaced:
            self._replace(now, replaced[-1].fade_s)
        elif any(_reshapes(event) for event in happened):
            self.reshape()
        for event in happened:
            if isinstance(event, events.PutBack):
                self._put_back(event, now)
            else:
                self._follow(event, now)
        if any(isinstance(event, BREATHES) for event in happened):
            self._breath.follow(self._rig, still_breathing(self._state), now)
        quiet = now - self._began >= self._breather_s
        if quiet:
            self._make_frame(now)
        if not quiet or self.in_motion or self.trouble is not None:
            self._due.set()

    def _follow(self, event: Event, now: float) -> None:
        match event:
            case events.LevelsSet() if event.fixture in self._rig.span:
                self._go(event.fixture, event.raws, now, event.fade_s)
            case events.LetGone() | events.BesideSet() | events.LookRecalled() | events.BaselineSet():
                self._fall(event, now)
            case events.SlotSet():
                self._set_slot(event)
            case events.Acted():
                row = self._rig.row.get((event.fixture, event.control))
                if row is not None:
                    self._acting[row] = (event.raw, now + event.hold_s)
            case events.Ran():
                self._run(event, now)
            case events.Disarmed():
                self._stop(event.fixture)
            case events.HandsOnSet() | events.StillSet() | events.OutOfUseSet():
                self._freeze(event.fixture, now)

    def _go(self, fixture: str, raws: dict[str, int | None], now: float, seconds: float) -> None:
        known = [(self._rig.row[fixture, key], raw) for key, raw in raws.items() if raw is not None]
        if known:
            rows, targets = zip(*known, strict=True)
            self._fades.go(np.array(rows), np.array(targets, np.float64), now, seconds)
        if len(known) < len(raws):
            self._rebase((fixture,), now, seconds)

    def _fall(self, event: Event, now: float) -> None:
        """What is in nobody's hand goes to what lies under the hands."""
        match event:
            case events.LetGone():
                self._rebase((event.fixture,), now, event.fade_s, event.wait_s)
            case events.BesideSet():
                lit = [f for f, values in event.values.items() if values is not None]
                self._rebase(lit, now, event.rise_s)
                self._rebase(event.values.keys() - set(lit), now, event.fade_s, event.wait_s)
            case events.LookRecalled() | events.BaselineSet():
                self._rebase(self._rig.span, now, event.fade_s)

    def _rebase(self, fixtures: Iterable[str], now: float, seconds: float, wait_s: float = 0.0) -> None:
        """Send every control of these fixtures to what is asked of it; those already on their way go on."""
        for fixture in fixtures:
            if fixture not in self._rig.span:
                continue
            first, last = self._rig.span[fixture]
            targets = self._asked(fixture)
            rows = np.flatnonzero(targets != self._fades.target[first:last])
            if len(rows):
                self._fades.go(rows + first, targets[rows], now, seconds, wait_s=wait_s)

    def _asked(self, fixture: str) -> Floats:
        mode = self._state.mode(fixture)
        return np.array(list(self._state.asked(fixture, mode).values()) if mode else [], np.float64)

    def _set_slot(self, event: events.SlotSet) -> None:
        index = self._rig.universe_index(event.universe)
        if index is None:
            self.reshape()  # which lays this slot down, too
        else:
            self._by_hand[index, event.slot - 1] = UNSET if event.raw is None else event.raw

    def _put_back(self, event: events.PutBack, now: float) -> None:
        before = event.before
        for universe, slots in before.slots.items():
            for slot, level in slots.items():
                self._set_slot(events.SlotSet("", universe, slot, level.raw if level else None))
        everywhere = before.recalled or before.looks or before.in_looks or before.baseline is not None
        touched = self._rig.span if everywhere else {**before.holders, **before.hand}
        self._rebase(tuple(f for f in touched if f in self._rig.span), now, event.fade_s)

    def _run(self, event: events.Ran, now: float) -> None:
        for key, raw in event.raws.items():
            row = self._rig.row.get((event.fixture, key))
            if row is not None and event.for_s > 0:
                self._acting[row] = (raw, now + event.for_s)
            elif row is not None:
                self._acting.pop(row, None)

    def _stop(self, fixture: str) -> None:
        first, last = self._rig.span.get(fixture, (0, 0))
        for row in range(first, last):
            if self._rig.guarded[row]:
                self._acting.pop(row, None)

    def _freeze(self, fixture: str, now: float) -> None:
        frozen, freed = self._state.frozen(fixture), list[int]()
        for row in range(*self._rig.span.get(fixture, (0, 0))):
            held, raw = not np.isnan(self._frozen[row]), frozen.get(self._rig.names[row][1])
            if raw is not None:
                # An action under way ends: a reset must not be held for as long as hands are on.
                self._acting.pop(row, None)
                self._frozen[row] = self._frozen[row] if held else raw
            elif held:
                freed.append(row)
        if freed:
            # Whoever was there is still beside it: what was asked meanwhile comes slowly.
            rows = np.array(freed)
            still, self._frozen[rows] = self._frozen[rows], np.nan
            fade_s = max(self._state.settings.let_go_s, SLOW_S)
            self._fades.go(rows, self._fades.target[rows], now, fade_s, still)

    def _replace(self, now: float, seconds: float) -> None:
        """Lay another rig out. Whatever leaves on a slot now is where the light that takes it over begins.

        Where none takes it over it goes as softly.
        """
        old, master = self._rig, self._state.master
        rig = self._compiled(seconds + LEAVES_S)
        starts = begins(rig, old, self._frame, master)
        self._parting = part(old, self._settled, self._frame, self._acting, master, now, seconds)
        rows = np.flatnonzero(~np.isnan(starts))
        targets = self._targets(rig)
        fades = Fades(targets, rig.snap)
        fades.go(rows, targets[rows], now, seconds, starts[rows])
        self._lay_out(rig, fades, {}, {})
        self._tell_universes(rig)

    def _compiled(self, leaves_s: float = LEAVES_S) -> Compiled:
        state, now = self._state, self._clock()
        used = {u for f in state.fixtures.values() for u in f.universes} | state.opened
        # Ended while lit, a node would hold what it heard last: it hears 0 first.
        begun = {u: now + leaves_s for u in self._rig.universes if u not in self._leaving}
        leaving = [(u, t) for u, t in (self._leaving | begun).items() if u not in used and t > now]
        self._leaving = dict(leaving[: max(0, MOST_UNIVERSES - len(used))])
        also = state.opened | self._leaving.keys()
        return compile_rig(state.fixtures.values(), state.profiles, also, self._off_limits)

    def _targets(self, rig: Compiled) -> Floats:
        return np.concatenate([np.zeros(0), *(self._asked(fixture) for fixture in rig.span)])

    def _tell_universes(self, rig: Compiled) -> None:
        if rig.universes != self._told:
            self._told = rig.universes
            self._on_universes(rig.universes)
        self._due.set()

    def reshape(self) -> None:
        """Lay the rig out again after a change of the patch. What is on its way goes on."""
        old, rig = self._rig, self._compiled()
        targets = self._targets(rig)
        both = [(row, old.row[name]) for row, name in enumerate(rig.names) if name in old.row]
        same = [(row, before) for row, before in both if old.controls[before] is rig.controls[row]]
        # In another mode, what does one thing only goes on from the same share; all else begins anew.
        other = [
            (row, before)
            for row, before in both
            if old.controls[before] is not rig.controls[row] and len(rig.controls[row].functions) == 1
        ]
        fades = Fades(targets, rig.snap)
        fades.carry_on(self._fades, np.array(same, np.int64).reshape(-1, 2))
        pairs = np.array(other, np.int64).reshape(-1, 2)
        fades.carry_over(self._fades, pairs, rig.maximum[pairs[:, 0]] / old.maximum[pairs[:, 1]])
        still = {row: self._frozen[before] for row, before in same}
        acting = {row: self._acting[before] for row, before in same if before in self._acting}
        self._lay_out(rig, fades, still, acting)
        self._tell_universes(rig)

    def _lay_out(
        self, rig: Compiled, fades: Fades, still: dict[int, float], acting: dict[int, tuple[int, float]]
    ) -> None:
        self._rig, self._fades, self._acting = rig, fades, acting
        self._frozen = np.full(len(rig.names), np.nan)
        state = self._state
        for fixture in state.hands_on.keys() | state.still.keys() | state.out_of_use.keys():
            for key, raw in self._state.frozen(fixture).items():
                if (row := rig.row.get((fixture, key))) is not None:
                    before = still.get(row, np.nan)
                    self._frozen[row] = raw if np.isnan(before) else before
        self._by_hand = np.full((len(rig.universes), SLOTS), UNSET, np.int16)
        for universe, slots in self._state.slots.items():
            index = rig.universe_index(universe)
            for slot, level in slots.items():
                if index is not None:
                    self._by_hand[index, slot - 1] = level.raw
        self._breath.follow(rig, still_breathing(state), self._clock())
        self._fresh = np.logical_not(rig.pinned.all(axis=1))  # one that is off limits whole is not sent
        self._settled = self._settle(self._clock())
        self._flashes = FlashLimit(rig, self._settled, self._flashes)
        self._frame = self._slots(self._clock())
        self._intensities = intensity_of(rig, self._settled)

    def _settle(self, now: float) -> Ints:
        asked = self._fades.at(now)
        self._breath.laid_on(asked, now)
        armed = np.zeros(len(asked), np.bool_)
        for row, (raw, until) in tuple(self._acting.items()):
            if now >= until:
                del self._acting[row]
            else:
                asked[row], armed[row] = raw, True
        state = self._state
        room = self._flashes.room(now)
        mixer = Mixer(
            state.master, state.blackout, self._frozen, armed, self._flashing(), self._lifted(), room
        )
        return settle(self._rig, asked, mixer)

    def _flashing(self) -> Bools:
        flashing = np.zeros(len(self._rig.span), np.bool_)
        if self._state.flashing:
            flashing[[at for at, f in enumerate(self._rig.span) if f in self._state.flashing]] = True
        return flashing

    def _lifted(self) -> int:
        lifted = self._state.lifted
        return (
            list(self._rig.span).index(lifted.fixture) if lifted and lifted.fixture in self._rig.span else -1
        )

    def step(self, now: float) -> None:
        """Resolve the whole rig at `now` and hand on each universe that differs from what was handed on."""
        if self._leaving and now >= min(self._leaving.values()):
            self.reshape()
        news, wanted = False, self._settle(now)
        by_themselves = flashes_of(self._rig, wanted, self._lifted()) if self._state.flashing else 0
        self._settled = self._flashes.limit(wanted, now, by_themselves)
        frame = self._slots(now)
        for index in np.flatnonzero(self._fresh | (frame != self._frame).any(axis=1)):
            self._sender.write(self._rig.universes[index], frame[index].tobytes())
            self.frames += 1
            self._fresh[index] = False
            news = True
        if news:
            self._sender.wake()
        self._frame = frame
        self._intensities = intensity_of(self._rig, self._settled)

    def _slots(self, now: float) -> NDArray[np.uint8]:
        frame = slots_of(self._rig, self._settled, self._by_hand)
        if self._parting is not None:
            master = None if self._state.blackout else self._state.master
            self._parting.lay_under(frame, self._rig, self._by_hand, now, master)
        return frame

    @property
    def in_motion(self) -> bool:
        """Whether the next frame will differ by itself."""
        waiting = bool(self._state.flashing or self._leaving) or self._flashes.holding  # for a second to pass
        waiting = waiting or (self._parting is not None and self._parting.moving(self._began))
        waiting = waiting or self._breath.at_work(self._began)
        return bool(self._acting) or waiting or self._fades.moving(self._began)

    @property
    def unsettled(self) -> bool:
        """Whether `intensities` are still to follow what was asked."""
        return self._due.is_set() or self.in_motion

    def _make_frame(self, now: float) -> None:
        self._due.clear()
        self._began = now
        try:
            self.step(now)
            self.trouble = None
        except Exception as wrong:  # the one place: the last good frame stays out, the lead is told
            log.exception("a frame could not be made")
            self.trouble = Said(
                "A frame could not be made ({why}). The last good one stays out.", why=str(wrong)
            )
        self._breather_s = max(BREATHER_S, BREATHERS * (self._clock() - now))

    async def run(self) -> None:
        """Step when something was asked, and 44 times a second while anything fades. Ends when cancelled."""
        while True:
            self._make_frame(self._clock())
            await asyncio.sleep(self._breather_s)
            with suppress(TimeoutError):
                async with asyncio.timeout(self._pause_s()):
                    await self._due.wait()

    def _pause_s(self) -> float | None:
        if self.trouble is not None:
            return RETRY_S
        if not self.in_motion:
            return None
        now = self._clock()
        self._next = max(self._next + FRAME_S, now)
        return self._next - now


def _reshapes(event: Event) -> bool:
    if isinstance(event, events.PutBack):
        return bool(event.before.fixtures or event.before.profiles)
    return isinstance(event, RESHAPES)
