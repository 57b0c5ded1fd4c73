"""The rules for a rig check: rounds, going from unit to unit, trying what one can do, and verdicts."""

from dataclasses import replace

from server.rig.light_up import light_up
from server.rig.patch import spoken
from server.rig.profile import Mode
from server.rig.said import Said
from server.rig.walk import Stride, walk
from server.stage import commands, events
from server.stage.cases import case_of
from server.stage.check import checkable, following
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.decide_fault import settled, wrong
from server.stage.decide_light import may_set
from server.stage.events import Event
from server.stage.found import ORDERS, Checking, Round, Verdict
from server.stage.holds import Refused, Touch, let_go, touch
from server.stage.near import NEAR_LEVEL, called, is_near
from server.stage.reasons import REASONS, reason_words
from server.stage.state import Leaving, State

__all__ = ["FIRST_LEVEL", "LONGEST_NOTE", "strides_of"]

FIRST_LEVEL = 0.5  # a supply seldom feeds a whole rig at full, and eyes are near
LEAST_LEVEL = 0.1
LONGEST_NOTE = 200
APART_S = 1.0  # between two strides: light never changes faster than that
GONE = Said("There is no such fixture any more.")
NOT_CHECKING = Said("You are not in a rig check. Start one first.")
HOUSE = Said("House staff check house fixtures. Tell the lead about this one.")


@answer.register
def _(command: commands.BeginRound, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead") or _no_level(command.level):
        return refused
    return [_new_round(state, command.person, command.level, now)]


@answer.register
def _(command: commands.SetCheckLevel, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead") or _no_level(command.level):
        return refused
    if state.round is None:
        return [_new_round(state, command.person, command.level, now)]
    return [events.RoundSet(command.person, replace(state.round, level=command.level))]


def _no_level(level: float) -> Refused | None:
    if LEAST_LEVEL <= level <= 1:
        return None
    return Refused(Said("A rig check is lit at {least} to 1, not {level}.", least=LEAST_LEVEL, level=level))


def _new_round(state: State, person: str, level: float, now: float) -> events.RoundSet:
    number = max(state.rounds, default=0) + 1
    return events.RoundSet(person, Round(number, now, called(state, person), level))


@answer.register
def _(command: commands.StartCheck, state: State, now: float, rules: Rules) -> Answer:
    person, wanted = command.person, Checking(None, False, command.order, command.where, command.unproved)
    happened: list[Event] = []
    if command.of is not None:
        theirs = state.checking.get(command.of)
        if theirs is None:
            return Refused(Said("They are not in a rig check any more."))
        if command.of != person and command.of not in state.gone:
            name = called(state, command.of)
            return Refused(Said("{name} is checking there. Their phone is here.", name=name))
        wanted = replace(theirs, ended=False, had=False, stood={}, stride=None)
        if command.of != person:
            happened.append(events.CheckStopped(person, command.of))
    if wanted.order not in ORDERS:
        return Refused(Said("A rig check goes by position, channel or universe."))
    if command.fixture is not None:
        wanted = replace(wanted, fixture=command.fixture)
    at, skipped = following(state, person, wanted, now, stay=True)
    if at is None:
        return _nothing_to_check(skipped)
    if state.round is None:
        happened.insert(0, _new_round(state, person, FIRST_LEVEL, now))
    step = _to(state, person, wanted, at, skipped, now, command.leaving)
    return step if isinstance(step, Refused) else [*happened, *step]


def _nothing_to_check(skipped: tuple[str, ...]) -> Refused:
    if skipped:
        return Refused(Said("All that is left there is in somebody's hand."), skipped[0])
    return Refused(Said("There is nothing left to check there."))


@answer.register
def _(command: commands.StepCheck, state: State, now: float, rules: Rules) -> Answer:
    check = state.checking.get(command.person)
    if check is None:
        return Refused(NOT_CHECKING)
    at, skipped = following(state, command.person, check, now, command.back)
    if at is None and command.back:
        return Refused(Said("This is the first one."), check.fixture)
    if at is None:  # the last one stays lit: nobody is left in the dark
        return [events.CheckStepped(command.person, replace(check, ended=True, skipped=skipped))]
    return _to(state, command.person, check, at, skipped, now, command.leaving)


def _to(
    state: State,
    person: str,
    check: Checking,
    at: str,
    skipped: tuple[str, ...],
    now: float,
    leaving: Leaving,
) -> Answer:
    """Light that one up, then let go of the last: the next is up before the last goes down."""
    last = state.checking.get(person)
    touched = touch(state, person, at, now)
    if isinstance(touched, Refused):
        return touched
    level = state.round.level if state.round else FIRST_LEVEL
    raws = dict[str, int | None](_lit(state, touched, level))
    asked = state.asked(at, touched.mode)
    stood = {c.key: asked[c.key] for c in touched.mode.controls if c.moves}
    had = not touched.first and not (last is not None and last.fixture == at and not last.had)
    here = replace(check, fixture=at, ended=False, skipped=skipped, had=had, stood=stood, stride=None)
    lit = events.LevelsSet(person, at, raws, state.settings.light_up_s)
    gone = _let_last_go(state, person, last, at, leaving)
    return [*touched.first, lit, *gone, events.CheckStepped(person, here)]


def _lit(state: State, touched: Touch, level: float) -> dict[str, int]:
    """As it hangs: a check never swings a unit by lighting it."""
    near = is_near(state, touched.fixture)
    return light_up(touched.mode, min(level, NEAR_LEVEL) if near else level, as_it_hangs=True)


def _let_last_go(
    state: State, person: str, last: Checking | None, at: str | None, leaving: Leaving
) -> list[Event]:
    fixture = last.fixture if last else None
    if last is None or fixture is None or fixture == at or last.had:
        return []
    if state.holders.get(fixture) != person:
        return []
    slow = max(state.settings.let_go_s, 2 * state.settings.light_up_s)
    gone = let_go(state, person, fixture, leaving)
    return [replace(e, fade_s=slow) if isinstance(e, events.LetGone) else e for e in gone]


@answer.register
def _(command: commands.StopCheck, state: State, now: float, rules: Rules) -> Answer:
    check = state.checking.get(command.person)
    if check is None:
        return []
    gone = _let_last_go(state, command.person, check, None, command.leaving)
    return [*gone, events.CheckStopped(command.person, command.person)]


@answer.register
def _(command: commands.WalkCheck, state: State, now: float, rules: Rules) -> Answer:
    check = state.checking.get(command.person)
    if check is None or check.fixture is None:
        return Refused(NOT_CHECKING)
    touched = touch(state, command.person, check.fixture, now)
    if isinstance(touched, Refused):
        return touched
    unit, strides = touched.fixture, strides_of(state, check)
    if command.stride is not None and not 0 <= command.stride < len(strides):
        return Refused(Said("{unit} has nothing more to try.", unit=spoken(unit)), unit.id)
    if 0 <= now - check.strode < APART_S:
        return Refused(Said("One thing after the other: wait a second."), unit.id)
    stride = None if command.stride is None else strides[command.stride]
    raws = _back(state, touched, check) if stride is None else stride.raws
    allowed = may_set(state, touched, command.person, raws, held=False) if raws else list(touched.first)
    if isinstance(allowed, Refused):
        return allowed
    fade_s = max((s.fade_s for s in strides), default=0.0) if stride is None else stride.fade_s
    soft = [_softly(event, fade_s) for event in allowed]
    ended = stride is None or stride.what == ""
    here = replace(check, stride=None if ended else command.stride, strode=now)
    return [*soft, events.CheckStepped(command.person, here)]


def _softly(event: Event, fade_s: float) -> Event:
    if isinstance(event, events.LevelsSet):
        return replace(event, fade_s=max(event.fade_s, fade_s))
    return event


def strides_of(state: State, check: Checking) -> tuple[Stride, ...]:
    """The walk through the unit that is lit; without swinging where people are near."""
    unit, mode = state.fixtures.get(check.fixture or ""), state.mode(check.fixture or "")
    if unit is None or mode is None:
        return ()
    return walk(mode, _stands(state, check, mode), moving=not is_near(state, unit))


def _stands(state: State, check: Checking, mode: Mode) -> dict[str, int]:
    """All raw values while the unit is lit for the check and nothing is tried."""
    level = state.round.level if state.round else FIRST_LEVEL
    fixture = check.fixture or ""
    return {**state.asked(fixture, mode), **light_up(mode, level, as_it_hangs=True), **check.stood}


def _back(state: State, touched: Touch, check: Checking) -> dict[str, int]:
    stands, asked = _stands(state, check, touched.mode), state.asked(touched.fixture.id, touched.mode)
    return {key: raw for key, raw in stands.items() if asked[key] != raw and _free(touched.mode, key)}


def _free(mode: Mode, key: str) -> bool:
    control = mode.control(key)
    return control is not None and control.guard is None


@answer.register
def _(command: commands.Judge, state: State, now: float, rules: Rules) -> Answer:
    unit = state.fixtures.get(command.fixture)
    if unit is None:
        return Refused(GONE, command.fixture)
    if not checkable(state, command.person, unit):
        house = state.people[command.person].role == "house" and not unit.house
        left_out = Said("{unit} is left out of rig checks.", unit=spoken(unit))
        return Refused(HOUSE if house else left_out, unit.id)
    note = " ".join(command.note.split())
    if command.reason not in ("", *REASONS) or len(note) > LONGEST_NOTE:
        return Refused(Said("Say what is wrong in 1 to {most} characters.", most=LONGEST_NOTE), unit.id)
    if not command.works and not (command.reason or note):
        return Refused(Said("Say what is wrong with {unit}.", unit=spoken(unit)), unit.id)
    photo = state.photos.get(command.photo)
    if command.photo and (photo is None or photo.fixture != unit.id):
        return Refused(Said("There is no such photo of {unit}.", unit=spoken(unit)), unit.id)
    first = [] if state.round else [_new_round(state, command.person, FIRST_LEVEL, now)]
    rig_round = state.round or first[0].round
    reason = "" if command.works else command.reason
    who = command.person, called(state, command.person), now
    place = unit.channel, unit.position, unit.unit
    verdict = Verdict(command.works, *who, rig_round.level, *place, reason, note, command.photo)
    judged = events.Judged(command.person, rig_round.number, unit.id, verdict)
    if not command.works:
        words = reason_words(reason, note)
        return [*first, judged, *wrong(state, command.person, unit, words, now, reason, command.photo)]
    fixed = case_of(state, unit.id)
    over = fixed is not None and fixed.status == "fixed"  # somebody said so, and now it is seen
    return [*first, judged, *(settled(state, command.person, unit.id, "verified", now) if over else [])]
