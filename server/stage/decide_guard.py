"""The rules for what can hurt: guarded units, timed actions, flashing faster than the rest."""

from server.rig.patch import Fixture, spoken
from server.rig.profile import Action, Control, Function, Mode
from server.rig.said import Said
from server.rig.values import NotAValueError, raw_from_value
from server.stage import commands, events
from server.stage.busy import busy_until, cools_until
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.holds import Refused, touch
from server.stage.near import called, names
from server.stage.state import State

__all__ = ["HELD_ON_S", "LIFTED_S", "LONGEST_RUN_S"]

LONGEST_ARMED_S = 600.0
LONGEST_REASON = 100
LONGEST_RUN_S = 10.0  # a guarded unit stops by itself, however long the button is held
HELD_ON_S = 1.0  # a page that holds asks again about every 0.4 s; a phone that is lost stops it within this
LIFTED_S = 30.0
LAMPS_APART_S = 5.0  # lamps are struck one after the other: each draws a multiple of its current


@answer.register
def _(command: commands.Arm, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    unit, mode = state.fixtures.get(command.fixture), state.mode(command.fixture)
    if unit is None or mode is None:
        return Refused(Said("There is no such fixture any more."), command.fixture)
    if command.reason is None:
        return [events.Disarmed(command.person, unit.id)] if unit.id in state.armed else []
    if not state.guarded(unit) and not any(c.guard or _has_lamp(c) for c in mode.controls):
        return Refused(Said("{unit} has nothing that is guarded.", unit=spoken(unit)), unit.id)
    if unit.id in state.hands_on:
        return Refused(Said("Hands are on {unit}: it is not armed meanwhile.", unit=spoken(unit)), unit.id)
    if unit.id in state.out_of_use:
        return Refused(Said("{unit} is out of use: it is not armed meanwhile.", unit=spoken(unit)), unit.id)
    reason = " ".join(command.reason.split())
    if not 1 <= len(reason) <= LONGEST_REASON:
        return Refused(
            Said("Say in 1 to {most} characters what it is armed for.", most=LONGEST_REASON), unit.id
        )
    if not 1 <= command.seconds <= LONGEST_ARMED_S:
        most = int(LONGEST_ARMED_S)
        return Refused(Said("A unit is armed for 1 to {most} seconds.", most=most), unit.id)
    return [events.ArmedSet(command.person, unit.id, reason, now, now + command.seconds)]


def _has_lamp(control: Control) -> bool:
    return any(f.action is not None and f.action.kind.startswith("lamp") for f in control.functions)


@answer.register
def _(command: commands.RunGuarded, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    touched = touch(state, command.person, command.fixture, now, armed=True)
    if isinstance(touched, Refused):
        return touched
    unit, run = touched.fixture, state.runs.get(command.fixture)
    raws = _guarded_values(state, unit, touched.mode, command)
    if isinstance(raws, Refused):
        return raws
    running = run is not None and now < run.until
    ours = run is not None and (run.person, run.press) == (command.person, command.press)
    if not command.on:
        stop = events.Ran(command.person, unit.id, raws, command.press, now, now, 0.0)
        return [stop] if running and ours else []
    if refused := _not_armed(state, unit, now):
        return refused
    if running and run is not None and not ours:
        return Refused(
            Said("{name} is running {unit}.", name=called(state, run.person), unit=spoken(unit)), unit.id
        )
    since = run.since if run is not None and ours else now
    left = min(HELD_ON_S, since + LONGEST_RUN_S - now, state.armed[unit.id].until - now)
    if left <= 0 or (ours and not running):
        return Refused(
            Said("{unit} has stopped by itself. Let go, then press again.", unit=spoken(unit)), unit.id
        )
    return [events.Ran(command.person, unit.id, raws, command.press, since, now, left)]


def _guarded_values(
    state: State, unit: Fixture, mode: Mode, command: commands.RunGuarded
) -> dict[str, int] | Refused:
    raws: dict[str, int] = {}
    for key, value in command.values.items():
        control = mode.control(key)
        if control is None or not (control.guard or state.guarded(unit)):
            return Refused(Said("{unit} has no guarded control of that name.", unit=spoken(unit)), unit.id)
        try:
            raws[key] = raw_from_value(control, value)
        except NotAValueError as wrong:
            return Refused(wrong.why, unit.id)
        if any(f.strobes or f.action for f in control.functions_at(raws[key])):
            return Refused(Said("{control} is not run that way.", control=key), unit.id)
    return raws or Refused(Said("Nothing was asked of the fixture."), unit.id)


def _not_armed(state: State, unit: Fixture, now: float) -> Refused | None:
    armed = state.armed.get(unit.id)
    if unit.id in state.hands_on:
        return Refused(Said("Hands are on {unit}: it does not run meanwhile.", unit=spoken(unit)), unit.id)
    if armed is None or not armed.since <= now < armed.until:
        return Refused(
            Said("{unit} is guarded and not armed. Ask the lead to arm it.", unit=spoken(unit)), unit.id
        )
    return None


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
    if refused := _not_now(state, unit, function, function.action, now):
        return refused
    if not command.held:
        return Refused(Said("Press and hold. {words}", words=function.action.words), unit.id, ask="held")
    raw, hold_s = (function.first + function.last) // 2, function.action.hold_s
    done = events.Acted(
        command.person, unit.id, command.control, function.name, raw, hold_s, function.action.kind, now
    )
    return [*touched.first, done]


def _not_now(state: State, unit: Fixture, function: Function, action: Action, now: float) -> Refused | None:
    name = spoken(unit)
    if unit.id in state.hands_on:
        why = Said("Hands are on {unit}: {action} waits until they are off.", unit=name, action=function.name)
        return Refused(why, unit.id)
    if aloft := state.aloft_at(unit.position):
        return Refused(
            Said(
                "Somebody is aloft at {position} ({names}): {action} waits until they are down.",
                names=names(state, aloft),
                position=unit.position,
                action=function.name,
            ),
            unit.id,
        )
    if action.kind.startswith("lamp") and (refused := _not_armed(state, unit, now)):
        return refused
    if (left := busy_until(state, unit.id) - now) > 0:
        why = Said("{unit} is busy with that for about {seconds} s more.", unit=name, seconds=int(left) + 1)
        return Refused(why, unit.id)
    return _lamp_waits(state, unit, now) if action.kind == "lamp_on" else None


def _lamp_waits(state: State, unit: Fixture, now: float) -> Refused | None:
    if (left := cools_until(state, unit.id) - now) > 0:
        why = Said(
            "The lamp of {unit} has to cool: it may strike again in about {minutes} min (an estimate).",
            unit=spoken(unit),
            minutes=int(left / 60) + 1,
        )
        return Refused(why, unit.id)
    if any(now - kinds["lamp_on"] < LAMPS_APART_S for kinds in state.acted.values() if "lamp_on" in kinds):
        why = Said("Another lamp struck just now: one after the other, {seconds} s apart.", seconds=5)
        return Refused(why, unit.id)
    return None


@answer.register
def _(command: commands.LiftFlashes, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if command.fixture is None:
        return [events.FlashLifted(command.person, None)] if state.lifted else []
    if command.fixture not in state.fixtures:
        return Refused(Said("There is no such fixture any more."), command.fixture)
    return [events.FlashLifted(command.person, command.fixture, now, now + LIFTED_S)]
