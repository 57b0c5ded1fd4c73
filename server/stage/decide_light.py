"""The rules for driving fixtures and bare slots."""

import math
from collections.abc import Mapping

from server.rig.light_up import light_up
from server.rig.patch import Fixture, spans, spoken
from server.rig.profile import Control, Function
from server.rig.said import Said
from server.rig.strobe import LIFTED_BELOW_HZ, MOST_HZ, flash_rate
from server.rig.universe import SLOTS, UNIVERSE_LAST
from server.rig.values import NotAValueError, raw_from_value
from server.stage import commands, events
from server.stage.decide import MOST_UNIVERSES, Answer, Rules, allow, answer
from server.stage.flashing import flashes_of_others
from server.stage.holds import Refused, Touch, let_go, let_go_of_all, touch
from server.stage.near import NEAR_LEVEL, SLOW_S, SOFT_S, called, is_near, names, rises
from server.stage.state import State
from server.stage.taught_levels import taught_by

__all__ = ["may_set"]


@answer.register
def _(command: commands.Take, state: State, now: float, rules: Rules) -> Answer:
    touched = touch(state, command.person, command.fixture, now, command.over)
    return touched if isinstance(touched, Refused) else touched.first


@answer.register
def _(command: commands.LetGo, state: State, now: float, rules: Rules) -> Answer:
    person = command.person
    if command.of is not None and command.fixture != "*":
        return Refused(Said('Say "*" to let go of all that somebody holds, or name a fixture alone.'))
    if command.fixture == "*":
        whose = person if command.of is None else command.of
        if whose != person and (refused := allow(state, person, "lead")):
            return refused
        return let_go_of_all(state, person, whose, command.leaving)
    unit, holder = state.fixtures.get(command.fixture), state.holders.get(command.fixture)
    if unit is None:
        return Refused(Said("There is no such fixture any more."), command.fixture)
    if holder is None:
        return []
    if holder != person and allow(state, person, "lead"):
        return Refused(
            Said("{name} has {unit}, not you.", name=called(state, holder), unit=spoken(unit)),
            unit.id,
            holder,
        )
    return let_go(state, person, unit.id, command.leaving)


@answer.register
def _(command: commands.SetValues, state: State, now: float, rules: Rules) -> Answer:
    touched = touch(state, command.person, command.fixture, now)
    return _values(state, touched, command.person, command.values, command.held)


@answer.register
def _(command: commands.SetMany, state: State, now: float, rules: Rules) -> Answer:
    if not command.values:
        return Refused(Said("No fixture is named."))
    happened: list[events.Event] = []
    for fixture, values in command.values.items():
        touched = touch(state, command.person, fixture, now)
        answer = _values(state, touched, command.person, values, command.held)
        if isinstance(answer, Refused):
            return answer
        happened += answer
    return happened


def _values(
    state: State, touched: Touch | Refused, person: str, values: Mapping[str, object], held: bool
) -> Answer:
    if isinstance(touched, Refused):
        return touched
    unit, raws = touched.fixture, dict[str, int]()
    for key, value in values.items():
        control = touched.mode.control(key)
        if control is None:
            return Refused(
                Said("{unit} has no control called {control}.", unit=spoken(unit), control=key[:40]), unit.id
            )
        try:
            raws[key] = raw_from_value(control, value)
        except NotAValueError as wrong:
            return Refused(wrong.why, unit.id)
    if not raws:
        return Refused(Said("Nothing was asked of the fixture."), unit.id)
    return may_set(state, touched, person, raws, held)


def may_set(state: State, touched: Touch, person: str, raws: dict[str, int], held: bool) -> Answer:
    """What setting these raw values comes to, when they may be set as they are."""
    unit, mode = touched.fixture, touched.mode
    before = state.asked(unit.id, mode)
    happened = list(touched.first)
    for more in (
        _frozen(state, touched, person, raws, held),
        _flashing(state, touched, person, raws, before, held),
    ):
        if isinstance(more, Refused):
            return more
        happened += more
    fade_s = 0.0
    if any(isinstance(event, events.StillSet) for event in happened):
        fade_s = SLOW_S
    elif is_near(state, unit) and rises(mode, before, raws):
        fade_s = SOFT_S
    return [*happened, events.LevelsSet(person, unit.id, dict(raws), fade_s)]


def _frozen(state: State, touched: Touch, person: str, raws: Mapping[str, int], held: bool) -> Answer:
    """Guards, and people at or near the unit: nothing, the release of what is held still, or the refusal."""
    unit, mode = touched.fixture, touched.mode
    moving = next((c for c in mode.controls if c.key in raws and c.moves), None)
    for control in mode.controls:
        if control.key in raws and (refused := _pinned(state, unit, control)):
            return refused
    if moving is None or not state.aloft_at(unit.position):
        return []
    # Who has just taken it has not been asked yet; who has it was, when it was let move.
    if unit.id not in state.still and not touched.first:
        return []
    if not held:
        aloft = names(state, state.aloft_at(unit.position))
        why = Said(
            "{unit} will move, and {names} is aloft there. Press and hold.", unit=spoken(unit), names=aloft
        )
        return Refused(why, unit.id, ask="held")
    if refused := allow(state, person, "lead", "crew"):
        return refused
    return [events.StillSet(person, unit.id, None)]


def _flashing(
    state: State,
    touched: Touch,
    person: str,
    raws: Mapping[str, int],
    before: Mapping[str, int],
    held: bool,
) -> Answer:
    """Actions and flashing: nothing, the wish to flash, or the refusal."""
    unit, mode = touched.fixture, touched.mode
    after = {**before, **raws}
    touched_too = [c for c in mode.controls if c.key in raws or _depends(c, raws)]
    doing = [(f, after[c.key]) for c in touched_too for f in mode.doing(c, after)]
    for function, _ in doing:
        if function.action is not None:
            words = function.action.words
            why = Said("{action} is held, not set. {words}", action=function.name, words=words)
            return Refused(why, unit.id, ask="held")
    flashing = [(f, raw) for f, raw in doing if f.strobes]
    for function, raw in flashing:
        rate_hz = flash_rate(function, raw)
        if refused := _too_fast(state, unit, function, rate_hz) or _not_asked(state, unit, function, held):
            return refused
    return [events.FlashAsked(person, unit.id)] if flashing and unit.id not in state.flashing else []


def _too_fast(state: State, unit: Fixture, function: Function, rate_hz: float) -> Refused | None:
    if not math.isfinite(rate_hz):
        why = Said("How fast {what} flashes is not known, so it stays open.", what=function.name)
        return Refused(why, unit.id)
    if state.lifted is not None and state.lifted.fixture == unit.id:
        if rate_hz < LIFTED_BELOW_HZ:
            return None
        why = Said("{what} stays under {most} flashes a second.", what=function.name, most=LIFTED_BELOW_HZ)
        return Refused(why, unit.id)
    if rate_hz > MOST_HZ:
        return Refused(
            Said(
                "{what} flashes faster than {most} times a second. The lead can lift that for one fixture.",
                what=function.name,
                most=MOST_HZ,
            ),
            unit.id,
        )
    if math.ceil(rate_hz) + flashes_of_others(state, unit.id) > MOST_HZ:
        why = Said("Other fixtures flash already: {most} flashes a second in the whole rig.", most=MOST_HZ)
        return Refused(why, unit.id)
    return None


def _not_asked(state: State, unit: Fixture, function: Function, held: bool) -> Refused | None:
    if held or unit.id in state.flashing:
        return None
    why = Said("{what} makes light flash. Press and hold to use it.", what=function.name)
    return Refused(why, unit.id, ask="held")


def _pinned(state: State, unit: Fixture, control: Control) -> Refused | None:
    if control.guard is not None:
        return Refused(
            Said(
                "{control} is guarded ({reason}): it stays at its safe value.",
                control=control.key,
                reason=control.guard.reason,
            ),
            unit.id,
        )
    if unit.id in state.hands_on and (control.moves or any(f.action for f in control.functions)):
        return Refused(
            Said(
                "Hands are on {unit}: {control} does not move meanwhile.",
                unit=spoken(unit),
                control=control.key,
            ),
            unit.id,
        )
    return None


def _depends(control: Control, raws: Mapping[str, int]) -> bool:
    return any(f.mode_master is not None and f.mode_master.control in raws for f in control.functions)


@answer.register
def _(command: commands.LightUp, state: State, now: float, rules: Rules) -> Answer:
    person, fixture, level = command.person, command.fixture, state.settings.light_up_level
    touched = touch(state, person, fixture, now)
    if isinstance(touched, Refused):
        return touched
    if is_near(state, touched.fixture):
        level = min(level, NEAR_LEVEL)
    still = command.as_it_hangs or fixture in state.hands_on
    fade_s = state.settings.light_up_s
    if still or not state.aloft_at(touched.fixture.position):
        raws = dict[str, int | None](light_up(touched.mode, level, still))
        return [*touched.first, events.LevelsSet(person, fixture, raws, fade_s)]
    # Light is never kept from somebody aloft, and motion never comes unasked.
    lit = light_up(touched.mode, level, as_it_hangs=True)
    happened = [*touched.first, events.LevelsSet(person, fixture, dict(lit), fade_s)]
    if not command.held or allow(state, person, "lead", "crew"):
        return happened
    moves = {key: raw for key, raw in light_up(touched.mode, level, False).items() if key not in lit}
    freed = [events.StillSet(person, fixture, None)] if moves else []
    return [*happened, *freed, *([events.LevelsSet(person, fixture, dict(moves), SLOW_S)] if moves else [])]


@answer.register
def _(command: commands.SetSlot, state: State, now: float, rules: Rules) -> Answer:
    universe, slot, raw = command.universe, command.slot, command.raw
    if not 1 <= universe <= UNIVERSE_LAST:
        return Refused(
            Said("Universe {universe} does not exist: 1 to {last}.", universe=universe, last=UNIVERSE_LAST)
        )
    if not 1 <= slot <= SLOTS:
        return Refused(Said("Slot {slot} does not exist: 1 to {last}.", slot=slot, last=SLOTS))
    if raw is not None and not 0 <= raw <= 255:
        return Refused(Said("A slot carries 0 to 255, not {level}.", level=raw))
    for limit in rules.off_limits:
        if limit.holds(universe, slot, slot):
            return Refused(
                Said(
                    "Universe {universe} slot {slot} is off limits: {why}.",
                    universe=universe,
                    slot=slot,
                    why=limit.why,
                )
            )
    owner = state.slot_owner(universe, slot)
    if owner is not None:
        return _slot_of_fixture(state, command, owner[0].id, now)
    return _bare_slot(state, command)


def _slot_of_fixture(state: State, command: commands.SetSlot, fixture: str, now: float) -> Answer:
    touched = touch(state, command.person, fixture, now)
    if isinstance(touched, Refused):
        return touched
    unit = touched.fixture
    place = next(
        s for s in spans(unit, touched.mode) if s.universe == command.universe and s.holds(command.slot)
    )
    offset = command.slot - place.first + 1
    controls = (c for c in touched.mode.controls if c.start == place.start)
    control = next((c for c in controls if offset in c.offsets), None)
    if control is None:
        return Refused(Said("{unit} does nothing with that slot.", unit=spoken(unit)), fixture)
    if command.raw is None:
        in_hand = control.key in state.hand.get(fixture, {})
        given = events.LevelsSet(command.person, fixture, {control.key: None})
        return [*touched.first, given] if in_hand else []
    level = 255 - command.raw if unit.turns(control) else command.raw
    shift = 8 * (control.width - 1 - control.offsets.index(offset))
    raw = state.asked(fixture, touched.mode)[control.key] & ~(0xFF << shift) | level << shift
    return may_set(state, touched, command.person, {control.key: raw}, held=False)


def _bare_slot(state: State, command: commands.SetSlot) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if (held := state.teaching) is not None and held.holds(command.universe, command.slot):
        return taught_by(state, held)
    if command.raw is None and command.slot not in state.slots.get(command.universe, {}):
        return []  # nothing to give back, and no reason to begin sending there
    used = {u for f in state.fixtures.values() for u in f.universes} | state.opened
    if command.universe not in used and len(used) >= MOST_UNIVERSES:
        return Refused(Said("{most} universes are in use already. Free one first.", most=MOST_UNIVERSES))
    return [events.SlotSet(command.person, command.universe, command.slot, command.raw)]
