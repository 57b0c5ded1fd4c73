"""Turns the state into slots and hands them to the output process, at once."""

import asyncio
import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress

import numpy as np
from numpy.typing import NDArray

from server.engine.arrival import begins
from server.engine.asking import Asking
from server.engine.breath import Breath
from server.engine.flashes import FlashLimit
from server.engine.following import LOOK_S, Followed, Following
from server.engine.heard import NOTHING, Heard
from server.engine.outranking import priorities_of
from server.engine.parting import Parting, part
from server.engine.sender import Sender
from server.engine.touched import One, Touched, reshapes
from server.rig.compiled import Bools, Compiled, Floats, compile_rig
from server.rig.levels import flashes_of, intensity_of, lay_slots, light_of, slots_of
from server.rig.said import Said
from server.rig.universe import SLOTS, OffLimits
from server.stage import events
from server.stage.decide import MOST_UNIVERSES
from server.stage.events import Event
from server.stage.seeking import still_breathing
from server.stage.state import State

__all__ = ["FRAME_S", "Engine"]

FRAME_S = 1 / 44  # E1.11: 512 slots take 22.68 ms; E1.31-2018, 6.6.1 allows no more than that
BREATHER_S = 0.0005  # least pause between two frames, so that sixty-four thumbs cost no more than a few
BREATHERS = 3  # and the pause is so many times what the last frame took, however large the rig
# But no longer: a console's frame is handed on before its next one comes, however long one of ours took or
# was kept waiting by the machine.
MOST_BREATHER_S = FRAME_S / 2
LEAVES_S = 1.0  # for so long a universe that its last fixture has left goes on, at 0
RETRY_S = 1.0  # after a frame that could not be made
BREATHES = (events.Sought, events.SeekEnded, events.Taken, events.LetGone)

log = logging.getLogger(__name__)


class Engine:
    """Owns the fades and the last frame.

    clock: monotonic seconds. off_limits: what is pinned in every frame. on_universes: told when the set of
    universes changes, before its first frame. heard: what consoles send; who hears more calls `stir`.
    """

    def __init__(
        self,
        state: State,
        sender: Sender,
        clock: Callable[[], float],
        on_universes: Callable[[tuple[int, ...]], None],
        off_limits: tuple[OffLimits, ...] = (),
        heard: Heard = NOTHING,
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
        self._heard, self._following = heard, Following(heard)
        self._outrank: Mapping[int, tuple[int, int]] = {}
        self._lay_out(nothing, Asking(state, self._following, nothing))
        self.reshape()
        state.follow(self._following)

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

    @property
    def following(self) -> tuple[Followed, ...]:
        """Every universe that follows a console, and how it stands there."""
        return self._following.all

    def stir(self, universe: int) -> None:
        """Levels of others were heard there: where they are followed, they leave with the next frame."""
        if self._following.stir(universe):
            self._due.set()

    @property
    def stirred(self) -> Bools:
        """(rows,) what has moved where a console is followed, until whoever tells of it takes it out."""
        return self._stirred

    @property
    def units_followed(self) -> Bools:
        """(fixtures,) which of them a console has anything of, in the order of `rig.span`."""
        return self._following.units

    def carries(self, universe: int) -> bool:
        """Whether what leaves there, or would, is the console's newest frame but for what is ours."""
        fades, now = self._asking.fades, self._began
        return self._following.carries(universe, fades.parts(now)[1], fades.follows, now)

    def through(self, universe: int) -> NDArray[np.bool_]:
        """(512,) which of its slots are passed through from a console."""
        index = self._rig.universe_index(universe)
        nothing = np.zeros(SLOTS, np.bool_)
        return nothing if index is None or self._through is None else self._through[index]

    def outrank(self, priorities: Mapping[int, tuple[int, int]]) -> None:
        """From now on slots that are ours have the first priority, all others the second, by universe."""
        if dict(priorities) != dict(self._outrank):
            self._outrank = dict(priorities)
            self._touched.everything()
            self._due.set()

    def leaving(self, fixtures: Iterable[str]) -> dict[str, dict[str, int]]:
        """Raw values as they leave now, by fixture and control key; an action under way left out."""
        names, settled, acting = self._rig.names, self._settled, self._asking.held.acting
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
        elif any(reshapes(event) for event in happened):
            self.reshape()
        for event in happened:
            if isinstance(event, events.PutBack):
                self._put_back(event, now)
            else:
                self._follow(event, now)
        if any(isinstance(event, BREATHES) for event in happened):
            self._breath.follow(self._rig, still_breathing(self._state), now)
        self._touched.took(happened)
        quiet = now - self._began >= self._breather_s
        if quiet:
            self._make_frame(now)
        if not quiet or self.in_motion or self.trouble is not None:
            self._due.set()

    def _follow(self, event: Event, now: float) -> None:
        held = self._asking.held
        match event:
            case events.LevelsSet() if event.fixture in self._rig.span:
                self._asking.go(event.fixture, event.raws, now, event.fade_s)
            case events.LetGone() | events.BesideSet() | events.LooksLifted():
                self._fall(event, now)
            case events.LookRecalled() | events.BaselineSet():
                self._fall(event, now)
            case events.SlotSet():
                self._set_slot(event)
            case events.Acted():
                held.act(event.fixture, event.control, event.raw, now + event.hold_s)
            case events.Ran():
                held.run(event.fixture, event.raws, now, event.for_s)
            case events.Disarmed():
                held.stop(event.fixture)
            case events.HandsOnSet() | events.StillSet() | events.OutOfUseSet():
                self._asking.freeze(event.fixture, now)
            case events.UniverseShared():
                self._turn(self._following.lay_out(self._rig, self._state, now), now)

    def _fall(self, event: Event, now: float) -> None:
        """What is in nobody's hand goes to what lies under the hands."""
        match event:
            case events.LetGone():
                self._asking.rebase((event.fixture,), now, event.fade_s, event.wait_s)
            case events.BesideSet():
                lit = [f for f, values in event.values.items() if values is not None]
                self._asking.rebase(lit, now, event.rise_s)
                self._asking.rebase(event.values.keys() - set(lit), now, event.fade_s, event.wait_s)
            case events.LooksLifted():
                self._asking.rebase(event.fixtures, now, event.fade_s)
            case events.LookRecalled() | events.BaselineSet():
                self._asking.rebase(self._rig.span, now, event.fade_s)

    def _turn(self, universes: Iterable[int], now: float) -> None:
        """Let what lies beneath there come in its place: softly, but at once where ours has not been seen."""
        let_go_s, was_seen = self._state.settings.let_go_s, self._following.was_seen
        seconds = {u: let_go_s if was_seen(u, now) else 0.0 for u in universes}
        self._asking.turn(seconds, now)
        for universe, fade_s in seconds.items():
            self._following.begin_bare((universe,), self._frame, now, fade_s)
            self._stirred |= self._following.universe == self._rig.universe_index(universe)
            self._due.set()

    def _set_slot(self, event: events.SlotSet) -> None:
        if not self._asking.set_slot(event):
            self.reshape()  # which lays this slot down, too

    def _put_back(self, event: events.PutBack, now: float) -> None:
        before = event.before
        for universe, slots in before.slots.items():
            for slot, level in slots.items():
                self._set_slot(events.SlotSet("", universe, slot, level.raw if level else None))
        if before.shared:
            self._turn(self._following.lay_out(self._rig, self._state, now), now)
        everywhere = before.recalled or before.looks or before.in_looks or before.baseline is not None
        touched = self._rig.span if everywhere else {**before.holders, **before.hand}
        self._asking.rebase(tuple(f for f in touched if f in self._rig.span), now, event.fade_s)

    def _replace(self, now: float, seconds: float) -> None:
        """Lay another rig out. Whatever leaves on a slot now is where the light that takes it over begins.

        Where none takes it over it goes as softly.
        """
        old, state = self._rig, self._state
        rig = self._compiled(seconds + LEAVES_S)
        starts = begins(rig, old, self._frame, state.master)
        acting = self._asking.held.acting
        self._parting = part(old, self._settled, self._frame, acting, state.master, now, seconds)
        self._following.begin_bare((f.universe for f in self.following), self._frame, now, seconds)
        self._following.lay_out(rig, state, now)
        rows = np.flatnonzero(~np.isnan(starts))
        asking = Asking(state, self._following, rig)
        asking.fades.go(rows, asking.fades.aim[rows], now, seconds, starts[rows])
        self._lay_out(rig, asking)
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

    def _tell_universes(self, rig: Compiled) -> None:
        if rig.universes != self._told:
            self._told = rig.universes
            self._on_universes(rig.universes)
        self._due.set()

    def reshape(self) -> None:
        """Lay the rig out again after a change of the patch. What is on its way goes on."""
        rig, now = self._compiled(), self._clock()
        self._following.lay_out(rig, self._state, now)
        self._lay_out(rig, self._asking.moved_to(rig, now))
        self._tell_universes(rig)

    def _lay_out(self, rig: Compiled, asking: Asking) -> None:
        now = self._clock()
        self._rig, self._asking, self._touched = rig, asking, Touched(rig)
        self._breath.follow(rig, still_breathing(self._state), now)
        self._fresh = np.logical_not(rig.pinned.all(axis=1))  # one that is off limits whole is not sent
        self._stirred = self._following.rows.copy()
        self._settled, beneath = self._asking.settle(now, self._breath, self._flashes.room(now))
        self._passed = beneath.passed if beneath else None
        self._flashes = FlashLimit(rig, self._settled, self._flashes, self._passed)
        self._frame, self._through = self._slots(now)
        self._each = [b""] * len(rig.universes)
        self._intensities = self._levels()

    def step(self, now: float) -> None:
        """Resolve the whole rig at `now` and hand on each universe that differs from what was handed on."""
        if self._leaving and now >= min(self._leaving.values()):
            self.reshape()
        if turned := self._following.read(now):
            self._turn(turned, now)
        self._asking.fades.lead(self._following.lead(self._state.master))
        wanted, beneath = self._asking.settle(now, self._breath, self._flashes.room(now))
        passed = beneath.passed if beneath else None
        lifted = self._asking.lifted
        by_themselves = flashes_of(self._rig, wanted, lifted, passed) if self._state.flashing else 0
        settled = self._flashes.limit(wanted, now, by_themselves, passed)
        if beneath is not None:
            self._stirred |= self._following.rows & (settled != self._settled)
            # What the flash limit holds, or a strobe's guard, is ours until it is let go.
            passed = beneath.passed & (settled == beneath.raw)
        self._settled, self._passed = settled, passed
        frame, through = self._slots(now)
        by_hand = self._asking.by_hand
        each = priorities_of(self._rig, self._following, through, by_hand, self._outrank)
        others = np.array([new != old for new, old in zip(each, self._each, strict=True)], np.bool_)
        differ = self._fresh | others | (frame != self._frame).any(axis=1)
        self._through, self._each = through, each
        self._hand_on(frame, np.flatnonzero(differ).tolist(), now)
        self._intensities = self._levels()

    def _step_of(self, ones: Sequence[One], now: float) -> bool:
        """Resolve these alone; False: all has to be. Only while nothing but them differs."""
        frame, levels, settled = self._frame.copy(), self._intensities.copy(), self._settled
        for one in ones:
            raw = self._asking.settle_alone(one.rig, one.rows)
            if (raw != settled[one.rows])[one.shining].any():
                if not self._flashes.lets(one.index, light_of(one.rig, raw)[0], now):
                    return False
                levels[one.index] = intensity_of(one.rig, raw)[0]
            self._flashes.put(one.rows, raw)
            settled[one.rows] = raw
            lay_slots(one.rig, raw, frame)
        touched = sorted({universe for one in ones for universe in one.universes})
        self._hand_on(frame, [at for at in touched if (frame[at] != self._frame[at]).any()], now)
        self._intensities = levels
        return True

    def _hand_on(self, frame: NDArray[np.uint8], differ: Iterable[int], now: float) -> None:
        news, each = False, self._each
        for index in differ:
            universe = self._rig.universes[index]
            if self._fresh[index] and self._following.waits(universe, now):
                continue
            self._sender.write(universe, frame[index].tobytes(), each[index])
            self.frames += 1
            self._fresh[index] = False
            news = True
        if news:
            self._sender.wake()
        self._frame = frame

    def _levels(self) -> Floats:
        if self._passed is None:
            return intensity_of(self._rig, self._settled)
        return intensity_of(self._rig, self._following.lit(self._settled, self._passed))

    def _slots(self, now: float) -> tuple[NDArray[np.uint8], Bools | None]:
        by_hand = self._asking.by_hand
        frame = slots_of(self._rig, self._settled, by_hand)
        if self._parting is not None:
            master = None if self._state.blackout else self._state.master
            self._parting.lay_under(frame, self._rig, by_hand, now, master)
        if self._passed is None and not self._following.moving(now):
            return frame, None
        nothing = np.zeros(len(self._rig.names), np.bool_)
        passed = nothing if self._passed is None else self._passed
        return frame, self._following.lay_over(frame, passed, by_hand, now)

    @property
    def in_motion(self) -> bool:
        """Whether the next frame will differ by itself."""
        waiting = bool(self._state.flashing or self._leaving) or self._flashes.holding  # for a second to pass
        waiting = waiting or (self._parting is not None and self._parting.moving(self._began))
        waiting = waiting or self._breath.at_work(self._began) or self._following.moving(self._began)
        return bool(self._asking.held.acting) or waiting or self._asking.fades.moving(self._began)

    @property
    def unsettled(self) -> bool:
        """Whether `intensities` are still to follow what was asked, or a console may move them."""
        theirs = bool(self._following) or bool(self._stirred.any())
        return theirs or self._due.is_set() or self.in_motion

    def _make_frame(self, now: float) -> None:
        ones = self._touched.taken()
        still = not (self.in_motion or self._following or self.trouble or self._fresh.any())
        self._due.clear()
        self._began = now
        try:
            if not still or ones is None or not self._step_of(ones, now):
                self.step(now)
            self.trouble = None
        except Exception as wrong:  # the one place: the last good frame stays out, the lead is told
            log.exception("a frame could not be made")
            self.trouble = Said(
                "A frame could not be made ({why}). The last good one stays out.", why=str(wrong)
            )
        self._breather_s = min(max(BREATHER_S, BREATHERS * (self._clock() - now)), MOST_BREATHER_S)

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
            return LOOK_S if self._following else None
        now = self._clock()
        self._next = max(self._next + FRAME_S, now)
        return self._next - now
