"""The rules for driving fixtures and bare slots."""

from collections.abc import Mapping

from server.rig.light_up import light_up
from server.rig.patch import Fixture, spoken
from server.rig.profile import Control
from server.rig.said import Said
from server.rig.universe import SLOTS, UNIVERSE_LAST
from server.rig.values import NotAValueError, raw_from_value
from server.stage import commands, events
from server.stage.decide import MOST_UNIVERSES, Answer, Rules, allow, answer
from server.stage.holds import Refused, Touch, touch
from server.stage.state import State

__all__: list[str] = []


@answer.register
def _(command: commands.Take, state: State, now: float, rules: Rules) -> Answer:
    touched = touch(state, command.person, command.fixture, now, command.over)
    return touched if isinstance(touched, Refused) else touched.first


@answer.register
def _(command: commands.LetGo, state: State, now: float, rules: Rules) -> Answer:
    person, fade = command.person, state.settings.let_go_s
    if command.fixture == "*":
        held = [fixture for fixture, holder in state.holders.items() if holder == person]
        return [events.LetGone(person, fixture, fade) for fixture in held]
    unit, holder = state.fixtures.get(command.fixture), state.holders.get(command.fixture)
    if unit is None:
        return Refused(Said("There is no such fixture any more."), command.fixture)
    if holder is None:
        return []
    if holder != person and allow(state, person, "lead"):
        return Refused(
            Said("{name} has {unit}, not you.", name=_called(state, holder), unit=spoken(unit)),
            unit.id,
            holder,
        )
    return [events.LetGone(person, unit.id, fade)]


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
    if refused := _not_so(state, touched, raws, held):
        return refused
    return [*touched.first, events.LevelsSet(person, unit.id, dict(raws))]


def _not_so(state: State, touched: Touch, raws: Mapping[str, int], held: bool) -> Refused | None:
    """Why these raw values may not be set as they are."""
    unit, mode = touched.fixture, touched.mode
    before = state.asked(unit.id, mode)
    after = {**before, **raws}
    for control in mode.controls:
        if control.key in raws and (refused := _pinned(state, unit, control)):
            return refused
        if control.key not in raws and not _depends(control, raws):
            continue
        new = mode.doing(control, after)
        acting = next((f for f in new if f.action), None)
        if acting is not None and acting.action is not None:
            return Refused(
                Said("{action} is held, not set. {words}", action=acting.name, words=acting.action.words),
                unit.id,
                ask="held",
            )
        flashing = next((f for f in new if f.strobes), None)
        if held or flashing is None or any(f.strobes for f in mode.doing(control, before)):
            continue
        return Refused(
            Said("{what} makes light flash. Press and hold to use it.", what=flashing.name),
            unit.id,
            ask="held",
        )
    return None


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
    touched = touch(state, command.person, command.fixture, now)
    if isinstance(touched, Refused):
        return touched
    still = command.as_it_hangs or command.fixture in state.hands_on
    raws = dict[str, int | None](light_up(touched.mode, state.settings.light_up_level, still))
    fade = state.settings.light_up_s
    return [*touched.first, events.LevelsSet(command.person, command.fixture, raws, fade)]


@answer.register
def _(command: commands.Act, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    touched = touch(state, command.person, command.fixture, now)
    if isinstance(touched, Refused):
        return touched
    unit, control = touched.fixture, touched.mode.control(command.control)
    functions = control.functions if control else ()
    function = next((f for f in functions if f.name == command.function and f.action), None)
    if function is None or function.action is None:
        return Refused(Said("{unit} has no action of that name.", unit=spoken(unit)), unit.id)
    if unit.id in state.hands_on:
        return Refused(
            Said(
                "Hands are on {unit}: {action} waits until they are off.",
                unit=spoken(unit),
                action=function.name,
            ),
            unit.id,
        )
    if not command.held:
        return Refused(Said("Press and hold. {words}", words=function.action.words), unit.id, ask="held")
    raw, hold_s = (function.first + function.last) // 2, function.action.hold_s
    acted = events.Acted(command.person, unit.id, command.control, function.name, raw, hold_s)
    return [*touched.first, acted]


@answer.register
def _(command: commands.HandsOn, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    mode, hands = state.mode(command.fixture), state.hands_on.get(command.fixture)
    if mode is None:
        return Refused(Said("There is no such fixture any more."), command.fixture)
    if command.on and hands is not None and hands.person != command.person:
        # They must not think it stays frozen for them: it is free again when the other one is off.
        name = _called(state, hands.person)
        return Refused(
            Said("{name} has hands on it already. It is frozen until they are off.", name=name),
            command.fixture,
        )
    if command.on and hands is None:
        asked = {**state.asked(command.fixture, mode), **command.leaving}
        still = {c.key: asked[c.key] for c in mode.controls if c.moves or any(f.action for f in c.functions)}
        return [events.HandsOnSet(command.person, command.fixture, still)]
    if not command.on and hands is not None:
        if hands.person != command.person and allow(state, command.person, "lead"):
            name = _called(state, hands.person)
            return Refused(Said("{name} has hands on it. Ask them, or the lead.", name=name), command.fixture)
        return [events.HandsOnSet(command.person, command.fixture, None)]
    return []


def _called(state: State, person: str) -> str:
    return state.people[person].name if person in state.people else Said("Somebody who has left")


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
    assert unit.address is not None  # noqa: S101 (it owns a slot)
    offset = command.slot - unit.address + 1
    control = next((c for c in touched.mode.controls if offset in c.offsets), None)
    if control is None:
        return Refused(Said("{unit} does nothing with that slot.", unit=spoken(unit)), fixture)
    if command.raw is None:
        in_hand = control.key in state.hand.get(fixture, {})
        given = events.LevelsSet(command.person, fixture, {control.key: None})
        return [*touched.first, given] if in_hand else []
    level = 255 - command.raw if unit.turns(control) else command.raw
    shift = 8 * (control.width - 1 - control.offsets.index(offset))
    raw = state.asked(fixture, touched.mode)[control.key] & ~(0xFF << shift) | level << shift
    if refused := _not_so(state, touched, {control.key: raw}, held=False):
        return refused
    return [*touched.first, events.LevelsSet(command.person, fixture, {control.key: raw})]


def _bare_slot(state: State, command: commands.SetSlot) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if command.raw is None and command.slot not in state.slots.get(command.universe, {}):
        return []  # nothing to give back, and no reason to begin sending there
    used = {f.universe for f in state.fixtures.values() if f.universe} | state.opened
    if command.universe not in used and len(used) >= MOST_UNIVERSES:
        return Refused(Said("{most} universes are in use already. Free one first.", most=MOST_UNIVERSES))
    return [events.SlotSet(command.person, command.universe, command.slot, command.raw)]
