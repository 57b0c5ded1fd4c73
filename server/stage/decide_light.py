"""The rules for driving fixtures and bare slots."""

from server.rig.light_up import light_up
from server.rig.patch import spoken
from server.rig.profile import Control
from server.rig.universe import SLOTS, UNIVERSE_LAST
from server.rig.values import raw_from_value
from server.stage import commands, events
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.holds import Refused, Touch, touch
from server.stage.state import State

__all__ = ["MOST_UNIVERSES"]

MOST_UNIVERSES = 1024  # opened or patched; sized after the largest rig the output process is measured with


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
        return Refused("There is no such fixture any more.", command.fixture)
    if holder is None:
        return []
    if holder != person and allow(state, person, "lead"):
        return Refused(f"{state.people[holder].name} has {spoken(unit)}, not you.", unit.id, holder)
    return [events.LetGone(person, unit.id, fade)]


@answer.register
def _(command: commands.SetValues, state: State, now: float, rules: Rules) -> Answer:
    touched = touch(state, command.person, command.fixture, now)
    if isinstance(touched, Refused):
        return touched
    raws: dict[str, int | None] = {}
    for key, value in command.values.items():
        control = touched.mode.control(key)
        if control is None:
            return Refused(f"{spoken(touched.fixture)} has no control called {key[:40]}.", command.fixture)
        try:
            raw = raw_from_value(control, value)
        except ValueError as wrong:
            return Refused(f"{wrong}.", command.fixture)
        if refused := _not_so(state, touched, control, raw, command.held):
            return refused
        raws[key] = raw
    if not raws:
        return Refused("Nothing was asked of the fixture.", command.fixture)
    return [*touched.first, events.LevelsSet(command.person, command.fixture, raws)]


def _not_so(state: State, touched: Touch, control: Control, raw: int, held: bool) -> Refused | None:
    """Why this raw value of a control may not be set as it is."""
    unit = touched.fixture
    if control.guard is not None:
        return Refused(
            f"{control.key} is guarded ({control.guard.reason}): it stays at its safe value.", unit.id
        )
    if unit.id in state.hands_on and (control.moves or any(f.action for f in control.functions)):
        return Refused(f"Hands are on {spoken(unit)}: {control.key} does not move meanwhile.", unit.id)
    for function in control.functions_at(raw):
        if function.action is not None:
            return Refused(f"{function.name} is held, not set. {function.action.words}", unit.id, ask="held")
        if function.strobes and not held and not _strobes_now(state, touched, control):
            why = f"{function.name} makes light flash. Press and hold to use it."
            return Refused(why, unit.id, ask="held")
    return None


def _strobes_now(state: State, touched: Touch, control: Control) -> bool:
    """Whether it was let flash already: then its speed may be set like any other value."""
    raw = state.asked(touched.fixture.id, touched.mode)[control.key]
    return any(function.strobes for function in control.functions_at(raw))


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
        return Refused(f"{spoken(unit)} has no action of that name.", unit.id)
    if unit.id in state.hands_on:
        return Refused(f"Hands are on {spoken(unit)}: {function.name} waits until they are off.", unit.id)
    if not command.held:
        return Refused(f"Press and hold. {function.action.words}", unit.id, ask="held")
    raw, hold_s = (function.first + function.last) // 2, function.action.hold_s
    acted = events.Acted(command.person, unit.id, command.control, function.name, raw, hold_s)
    return [*touched.first, acted]


@answer.register
def _(command: commands.HandsOn, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    mode, hands = state.mode(command.fixture), state.hands_on.get(command.fixture)
    if mode is None:
        return Refused("There is no such fixture any more.", command.fixture)
    if command.on and hands is None:
        asked = state.asked(command.fixture, mode)
        still = {c.key: asked[c.key] for c in mode.controls if c.moves or any(f.action for f in c.functions)}
        return [events.HandsOnSet(command.person, command.fixture, still)]
    if not command.on and hands is not None:
        if hands.person != command.person and allow(state, command.person, "lead"):
            return Refused(
                f"{state.people[hands.person].name} has hands on it. Ask them first.", command.fixture
            )
        return [events.HandsOnSet(command.person, command.fixture, None)]
    return []


@answer.register
def _(command: commands.SetSlot, state: State, now: float, rules: Rules) -> Answer:
    universe, slot, raw = command.universe, command.slot, command.raw
    if not 1 <= universe <= UNIVERSE_LAST:
        return Refused(f"Universe {universe} does not exist: 1 to {UNIVERSE_LAST}.")
    if not 1 <= slot <= SLOTS:
        return Refused(f"Slot {slot} does not exist: 1 to {SLOTS}.")
    if raw is not None and not 0 <= raw <= 255:
        return Refused(f"A slot carries 0 to 255, not {raw}.")
    for limit in rules.off_limits:
        if limit.holds(universe, slot, slot):
            return Refused(f"Universe {universe} slot {slot} is off limits: {limit.why}.")
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
        return Refused(f"{spoken(unit)} does nothing with that slot.", fixture)
    if command.raw is None:
        return [*touched.first, events.LevelsSet(command.person, fixture, {control.key: None})]
    shift = 8 * (control.width - 1 - control.offsets.index(offset))
    raw = state.asked(fixture, touched.mode)[control.key] & ~(0xFF << shift) | command.raw << shift
    if refused := _not_so(state, touched, control, raw, held=False):
        return refused
    return [*touched.first, events.LevelsSet(command.person, fixture, {control.key: raw})]


def _bare_slot(state: State, command: commands.SetSlot) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    used = {f.universe for f in state.fixtures.values() if f.universe} | state.opened
    if command.universe not in used and len(used) >= MOST_UNIVERSES:
        return Refused(f"{MOST_UNIVERSES} universes are in use already. Free one first.")
    return [events.SlotSet(command.person, command.universe, command.slot, command.raw)]
