"""Crew and house staff who ask for anything in any order, and a judge who sees nothing but what leaves.

The judge knows the rig (which slot belongs to what), reads slots, and counts flashes by itself.
"""

import random
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from server.engine.engine import FRAME_S, Engine
from server.paperwork.library import read_folder
from server.places import profiles_folder
from server.rig.compiled import Compiled, Floats, Ints
from server.rig.levels import light_of
from server.rig.patch import Fixture
from server.rig.universe import OffLimits
from server.stage import commands as ask
from server.stage import commands_teach as teach
from server.stage import events
from server.stage.commands import Command
from server.stage.decide import Rules
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import Look, Person
from tests.engine.heard import Desk, shared

__all__ = ["Crowd", "Judge"]

LIBRARY = {profile.key: profile for profile in read_folder(profiles_folder())}
LIMITS = (OffLimits(1, 400, 449, "aisle light"),)
PEOPLE = (
    Person("lead", "Ann", "lead", "a"),
    Person("kit", "Kit", "crew", "b"),
    Person("mo", "Mo", "crew", "c"),
    Person("hal", "Hal", "house", "d"),
)
WHO = ("kit", "kit", "mo", "mo", "hal")
FADES = (0.0, 0.0, 0.3, 2.0)
PAUSES_S = (0.0, 0.0, 0.003, 0.01, 0.02, 0.03, 0.03, 0.05, 0.1, 0.1, 0.4)
FREEZES = (events.HandsOnSet, events.StillSet, events.OutOfUseSet)
BETWEEN = 4  # frames at most while something moves between two commands: the rest of the time passes unseen


def _unit(name: str, profile: str, address: int, mode: int = 0, **more: Any) -> Fixture:
    told = {"position": "Bridge", "unit": name, "purpose": "Area", **more}
    return Fixture(name, address, profile=profile, mode=LIBRARY[profile].modes[mode].name, universe=1,
                   address=address, **told)  # fmt: skip


RIG = (
    _unit("spot", "dimmer", 1),
    _unit("house", "dimmer", 2, house=True, position="House"),
    _unit("work", "dimmer", 3, work_light=True),
    _unit("capped", "dimmer", 4, cap=0.5),
    _unit("wash", "rgb-wash", 10, house=True, position="House"),
    _unit("head", "moving-spot-cmy", 20),
    _unit("head2", "moving-spot-cmy", 70, position="Boom"),
    _unit("led", "moving-wash-led", 120, position="Boom"),
    _unit("batten", "batten-8", 180),
    _unit("fog", "fogger", 260),
    _unit("haze", "hazer", 270, house=True),
    _unit("power", "relay", 280),
    _unit("pump", "dimmer", 290, guarded=True),
)
IDS = tuple(f.id for f in RIG)


class Judge:
    """Looks at every frame; `wrong` holds what it saw that must never be."""

    def __init__(self, rig: Compiled, first: bytes) -> None:
        self.rig, self.wrong = rig, list[str]()
        slots = np.frombuffer(first, np.uint8)
        self._first, self._last = slots.copy(), slots.copy()
        rows = [r for r, (name, _) in enumerate(rig.names) if rig.guarded[r] or name == "work"]
        resets = {r: self._recalibrating(r) for r in rows}
        self._never = np.isin(rig.owned[0], [r for r in rows if not resets[r]])
        # Crew may recalibrate by press and hold, also where lamp commands share the control.
        pairs = zip(rig.slot_at.tolist(), rig.slot_row.tolist(), strict=True)
        self._only = {at: {int(slots[at]), *resets[r]} for at, r in pairs if resets.get(r)}
        self._never[LIMITS[0].first - 1 : LIMITS[0].last] = True
        self._held: dict[int, int] = {}
        light = self._light(slots)
        self._extreme, self._way = light, np.zeros(len(light))
        self._turned = np.full(len(light), -np.inf)
        self._flashes: deque[float] = deque()
        self._strobed: deque[tuple[float, int]] = deque()

    def _recalibrating(self, row: int) -> list[int]:
        functions = self.rig.controls[row].functions
        ours = [f for f in functions if f.action and f.action.kind == "reset"]
        return [level for f in ours for level in range(f.first, f.last + 1)]

    def _light(self, slots: np.ndarray) -> Floats:
        return light_of(self.rig, self.raw(slots))

    def raw(self, slots: np.ndarray) -> Ints:
        """Raw values of all controls, read back from the slots."""
        raw = np.zeros(len(self.rig.names), np.int64)
        np.add.at(raw, self.rig.slot_row, slots[self.rig.slot_at].astype(np.int64) << self.rig.slot_shift)
        turned = np.where(self.rig.inverted, self.rig.maximum.astype(np.int64) - raw, raw)
        virtual = np.ones(len(raw), np.bool_)
        virtual[self.rig.slot_row] = False
        # A virtual intensity has no slots: it is seen in the colours that it scales.
        return np.where(virtual, self.rig.maximum.astype(np.int64), turned)

    def hold(self, rows: Sequence[int]) -> None:
        """From now on these rows stay as they last left; those that are not named are free."""
        slots = {int(at) for at, row in zip(self.rig.slot_at, self.rig.slot_row, strict=True) if row in rows}
        self._held = {at: self._held.get(at, int(self._last[at])) for at in slots}

    def unmoved(self, before: bytes, rows: Sequence[int]) -> None:
        """What is held from now on leaves as it did in the frame before."""
        for at, row in zip(self.rig.slot_at.tolist(), self.rig.slot_row.tolist(), strict=True):
            if row in rows and before[at] != self._last[at]:
                self.wrong.append(f"slot {at + 1} jumped to {self._last[at]} when it was to stay")

    def look(self, frame: bytes, now: float) -> None:
        """See one frame at `now` seconds."""
        slots = np.frombuffer(frame, np.uint8)
        if (slots[self._never] != self._first[self._never]).any():
            at = int(np.flatnonzero(self._never & (slots != self._first))[0]) + 1
            self.wrong.append(f"slot {at} was driven to {slots[at - 1]}")
        for at, levels in self._only.items():
            if slots[at] not in levels:
                self.wrong.append(f"slot {at + 1} was driven to {slots[at]}")
        for at, level in self._held.items():
            if slots[at] == 0 and self.rig.intensity[self.rig.owned[0, at]]:
                self._held[at] = 0  # what is out of use may still have had to wait with going dark
            elif slots[at] != level:
                self.wrong.append(f"slot {at + 1} moved from {level} to {slots[at]} under somebody's hands")
        if (slots != self._last).any() or self._strobed:
            self._count(slots, now)
        self._last = slots.copy()

    def _count(self, slots: np.ndarray, now: float) -> None:
        """WCAG 2.2, 2.3.1 and its definition of a general flash, counted over the whole rig."""
        light = self._light(slots)
        swing = light - self._extreme
        way = np.sign(swing)
        turns = (np.abs(swing) >= 0.1) & (way != self._way)
        flash = turns & (self._way != 0) & (now - self._turned < 1) & (np.minimum(light, self._extreme) < 0.8)
        self._flashes.extend(now for direction in (1, -1) if (flash & (way == direction)).any())
        while self._flashes and now - self._flashes[0] >= 1:
            self._flashes.popleft()
        moved = turns | ((way == self._way) & (swing != 0))
        self._way[turns] = way[turns]
        self._extreme = np.where(moved, light, self._extreme)
        self._turned[moved] = now
        rates = self.rig.strobes.rates(self.raw(slots))
        if rates.any():
            self._strobed.append((now, int(np.ceil(rates).sum()) if np.isfinite(rates).all() else 99))
        while self._strobed and now - self._strobed[0][0] >= 1:
            self._strobed.popleft()
        by_themselves = max((made for _, made in self._strobed), default=0)
        if len(self._flashes) + by_themselves > 3:
            self.wrong.append(f"{len(self._flashes)} flashes and {by_themselves} by strobes within a second")


class Crowd:
    """A show of its own on a clock of its own, played by a random number generator."""

    def __init__(self, seed: int, console: bool = False) -> None:
        """console: one is followed there. Units stand as it likes, bare slots run."""
        self.random = random.Random(seed)
        self.now, self.asked, self.done, self.frames = 1000.0, 0, 0, 0
        self.stage = Stage(Rules(LIMITS))
        one = {"head": {"Dimmer": 255, "Pan": 9}, "work": {"Dimmer": 0}, "fog": {"Fog1": 255}}
        self.stage.happen(
            [
                *(events.PersonJoined(p.id, p) for p in PEOPLE),
                *(events.ProfileAdded("", LIBRARY[key]) for key in dict.fromkeys(f.profile for f in RIG)),
                *(events.FixturePut("", f) for f in RIG),
                events.LookSaved("lead", Look("one", "One", one)),
                events.SlotSet("lead", 1, 511, 9),
                events.LookSaved("lead", Look("base", "Base", {"work": {"Dimmer": 128}})),
                events.BaselineSet("lead", "base"),
                events.OrderSet("lead", IDS),
            ]
        )
        self.picture, self.desk = bytes(512), Desk()
        self._begin()
        if console:
            self.desk.drive(1, self._theirs(self.picture))
            self.stage.happen([shared(1)])
            self._begin()
        self.judge = Judge(self.engine.rig, self.picture)

    def _begin(self) -> None:
        state = self.stage.state
        self.engine = Engine(state, self, lambda: self.now, lambda _: None, LIMITS, self.desk)
        self.engine.step(self.now)

    def _theirs(self, ours: bytes) -> bytes:
        """Some light on everything that is neither guarded nor a work light."""
        rig, levels = self.engine.rig, bytearray(ours)
        for at, row in zip(rig.slot_at.tolist(), rig.slot_row.tolist(), strict=True):
            lights = (rig.intensity | rig.emits)[row] and not rig.guarded[row] and rig.names[row][0] != "work"
            levels[at] = self.random.choice((0, 120, 255)) if lights else levels[at]
        return bytes(levels)

    def write(self, universe: int, slots: bytes, each: bytes = b"") -> None:
        """Where the engine puts its frames."""
        if universe == 1:
            self.picture = slots
            self.frames += 1

    def wake(self) -> None:
        """Nobody sleeps here."""

    def play(self, commands: int) -> None:
        """Ask for so many things, and let time pass between them."""
        for _ in range(commands):
            self._ask(self._any())
            self._pass(self.random.choice(PAUSES_S) if self.random.random() < 0.99 else 41.0)

    def _ask(self, command: Command) -> None:
        if hasattr(command, "leaving"):
            command = replace(command, leaving=self.engine.leaving(IDS))  # type: ignore[call-arg]
        self.asked += 1
        answer = self.stage.ask(command, self.now)
        if isinstance(answer, Refused):
            return
        self.done += 1
        before = self.picture
        self.engine.took(answer)
        self.look()
        if any(isinstance(e, FREEZES) for e in answer):
            rig, state = self.engine.rig, self.stage.state
            held = [r for r, (f, key) in enumerate(rig.names) if key in state.frozen(f)]
            self.judge.unmoved(before, [r for r in held if rig.controls[r].moves])
            self.engine.step(self.now)  # an action under way ends with the freezing
            self.look()
            self.judge.hold(held)

    def _pass(self, seconds: float) -> None:
        until = self.now + seconds
        if 1 in self.desk.sends:
            levels = self.desk.sends[1].tobytes()
            self.desk.drive(1, levels[:499] + bytes([self.random.randrange(256)] * 13), self.engine)
        for _ in range(BETWEEN):
            if not self.engine.unsettled or self.now + FRAME_S >= until:
                break
            self.now += FRAME_S
            self.engine.step(self.now)
            self.look()
        self.now = until
        if happened := self.stage.by_the_clock(self.now):
            self.engine.took(happened)
        self.engine.step(self.now)
        self.look()

    def look(self) -> None:
        """Let the judge see what leaves now."""
        self.judge.look(self.picture, self.now)

    def _any(self) -> Command:
        return self.random.choice(self._ways)(self.random.choice(WHO), self.random.choice(IDS))

    @property
    def _ways(self) -> tuple[Callable[[str, str], Command], ...]:
        r, set_ = self.random, self._set
        position = r.choice(("Bridge", "Boom", "House", None))
        return (
            *(set_,) * 8,
            self._bump,
            self._bump,
            self._bump,
            lambda who, unit: ask.LightUp(who, unit, r.random() < 0.5, r.random() < 0.5),
            lambda who, unit: ask.Take(who, unit, r.random() < 0.5),
            lambda who, unit: ask.LetGo(who, r.choice((unit, unit, "*"))),
            lambda who, unit: ask.HandsOn(who, unit, r.random() < 0.6),
            lambda who, unit: ask.GoAloft(who, position),
            lambda who, unit: ask.TagOut(who, unit, r.choice(("lamp", None, None))),
            lambda who, unit: ask.SetSlot(who, 1, r.randint(1, 512), r.choice((0, 255, 7, None))),
            lambda who, unit: ask.SetMaster(who, r.choice((0.0, 1.0, r.random()))),
            lambda who, unit: ask.SetBlackout(who, r.random() < 0.5),
            lambda who, unit: ask.RecallLook(who, r.choice(("one", "two", "base")), r.choice(FADES)),
            lambda who, unit: ask.SaveLook(who, "two", "Two"),
            lambda who, unit: self._act(who, unit),
            lambda who, unit: ask.RunGuarded(who, r.choice(("fog", "power", "pump")), {"Dimmer": 1}, 1, True),
            lambda who, unit: ask.Arm(who, unit, "because"),
            lambda who, unit: ask.LiftFlashes(who, unit),
            lambda who, unit: ask.ChangePatch(who, (), (unit,)),
            lambda who, unit: ask.SetBaseline(who, "one"),
            self._undo,
            self._undo,
            lambda who, unit: ask.Seek(who, r.choice((None, (unit,)))),
            lambda who, unit: ask.AnswerSeek(who, r.choice((True, False, None))),
            lambda who, unit: ask.EndSeek(who, r.random() < 0.5),
            lambda who, unit: ask.FocusNext(who, None, None, r.choice(("done", None)), r.random() < 0.5),
            lambda who, unit: ask.FocusNext(who, None, None, None, True),
            lambda who, unit: ask.FocusAt(who, r.choice((unit, unit, None)), None, "back", r.random() < 0.5),
            lambda who, unit: ask.UpdateLook(who, "two"),
            lambda who, unit: ask.SendShout(who, r.choice(("stop", "next"))),
            lambda who, unit: ask.SeeShout(who, r.randint(1, 5)),
            lambda who, unit: ask.MarkFocus(who, unit, r.choice(("done", "todo"))),
            lambda who, unit: ask.WriteNote(who, unit, {"edge": "soft"}),
            lambda who, unit: ask.ChangeCall("lead", {"beside": r.choice(("", "position", "purpose"))}),
            lambda who, unit: ask.StartCheck(who, "position", "", r.random() < 0.5, r.choice((unit, None))),
            lambda who, unit: ask.StepCheck(who, r.random() < 0.2),
            lambda who, unit: ask.StepCheck(who, False),
            lambda who, unit: ask.WalkCheck(who, r.choice((0, 1, 2, 3, 4, 5, None))),
            lambda who, unit: ask.StopCheck(who),
            lambda who, unit: teach.BeginTeach(who, 1, r.randint(1, 512), r.randint(1, 20)),
            lambda who, unit: teach.HoldTeach(who, r.randint(1, 3), r.randint(0, 2), r.random() < 0.8),
            lambda who, unit: teach.HoldTeach(who, r.randint(1, 3), 0, True),
            lambda who, unit: teach.AnswerTeach(who, r.choice(("nothing", "on", "else", "flickers", None))),
            lambda who, unit: teach.EndTeach(who),
            lambda who, unit: ask.CallDark(who),
            lambda who, unit: ask.AnswerDark(who, r.random() < 0.7),
            lambda who, unit: r.choice((ask.Arrive, ask.Withdraw))(who),
        )  # fmt: skip

    def _set(self, who: str, unit: str) -> Command:
        mode = self.stage.state.mode(unit)
        assert mode is not None
        control = self.random.choice(mode.controls)
        function = self.random.choice(control.functions)
        raw = self.random.randint(function.first, function.last)
        value = self.random.choice((0.0, 1.0, self.random.random(), {"raw": raw}, {"raw": function.first}))
        return ask.SetValues(who, unit, {control.key: value}, self.random.random() < 0.4)

    def _bump(self, who: str, unit: str) -> Command:
        level = self.random.choice((0.0, 1.0))
        return ask.SetMany(who, {unit: {"Dimmer": level}}, self.random.random() < 0.4)

    def _undo(self, who: str, unit: str) -> Command:
        """One of their last changes, or now and then anybody's."""
        changes, r = self.stage.state.changes.values(), self.random
        theirs = [change for change in changes if change.person == who or r.random() < 0.1]
        number = r.choice(theirs[-4:]).number if theirs else 1
        return ask.Undo(who, number, r.random() < 0.5, r.random() < 0.5)

    def _act(self, who: str, unit: str) -> Command:
        mode = self.stage.state.mode(unit)
        assert mode is not None
        names = [(c.key, f.name) for c in mode.controls for f in c.functions if f.action]
        key, name = self.random.choice(names or [("Dimmer", "Dimmer")])
        return ask.Act(who, unit, key, name, self.random.random() < 0.8)
