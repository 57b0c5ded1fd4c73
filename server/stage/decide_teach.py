"""The rules for teaching a fixture without a profile. Nothing of it is up unless a button is held."""

from dataclasses import replace

from server.rig.patch import spoken
from server.rig.said import Said
from server.rig.teaching import Step, Unfit, teach
from server.rig.universe import SLOTS, UNIVERSE_LAST
from server.stage import commands_teach as commands
from server.stage import events
from server.stage.decide import MOST_UNIVERSES, Answer, Rules, allow, answer
from server.stage.holds import AWAY_S, Refused
from server.stage.state import State
from server.stage.taught_levels import all_at_zero, levels_of, taught_by
from server.stage.teaching import Teaching

__all__ = ["CHANGE_S", "HELD_ON_S"]

MOST_SLOTS = 64  # more is a unit with a file, or several units
HELD_ON_S = 1.0  # a phone that is lost lets go after this
CHANGE_S = 0.35  # light changes no faster than that, whoever presses how often

NOBODY = Said("Nobody teaches a fixture.")


@answer.register
def _(command: commands.BeginTeach, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    if state.teaching is not None:
        return taught_by(state, state.teaching)
    teaching = Teaching(command.person, command.universe, command.first, command.slots)
    if not 1 <= command.universe <= UNIVERSE_LAST:
        return Refused(
            Said(
                "Universe {universe} does not exist: 1 to {last}.",
                universe=command.universe,
                last=UNIVERSE_LAST,
            )
        )
    if not 1 <= command.slots <= MOST_SLOTS:
        return Refused(Said("A unit of 1 to {most} slots can be taught.", most=MOST_SLOTS))
    if command.first < 1 or teaching.last > SLOTS:
        return Refused(Said("Slot {slot} does not exist: 1 to {last}.", slot=teaching.last, last=SLOTS))
    if refused := _not_free(state, teaching, rules):
        return refused
    return [*levels_of(state, teaching, {}), events.TeachingSet(command.person, teaching)]


@answer.register
def _(command: commands.HoldTeach, state: State, now: float, rules: Rules) -> Answer:
    teaching = _own(state, command.person)
    if isinstance(teaching, Refused):
        return teaching
    if not command.on:
        return all_at_zero(state, command.person) if command.press == teaching.press else []
    step, _ = teach(teaching.slots, teaching.answers)
    if step is None or not 0 <= command.look < len(step.looks):
        return Refused(Said("There is nothing to show here."))
    if state.blackout:
        return Refused(Said("The rig is dark: no light would show."))
    if refused := _not_free(state, teaching, rules):
        return refused
    return _shown(state, teaching, step, command, now)


def _shown(state: State, teaching: Teaching, step: Step, command: commands.HoldTeach, now: float) -> Answer:
    ours = command.press == teaching.press
    since = teaching.since if ours else now
    left = min(HELD_ON_S, since + step.most_s - now)
    if left <= 0 or now < since or (ours and teaching.look < 0):
        return Refused(Said("It has stopped by itself. Let go, then press again."))
    changes = command.look != teaching.look
    if changes and 0 <= now - teaching.changed < CHANGE_S:
        return Refused(Said("Light changes no faster than that. Press again."))
    held = replace(
        teaching, look=command.look, press=command.press, since=since, until=now + left,
        changed=now if changes else teaching.changed,
    )  # fmt: skip
    levels = dict(step.looks[command.look])
    return [*levels_of(state, teaching, levels), events.TeachingSet(command.person, held)]


@answer.register
def _(command: commands.AnswerTeach, state: State, now: float, rules: Rules) -> Answer:
    teaching = _own(state, command.person)
    if isinstance(teaching, Refused):
        return teaching
    answers = teaching.answers[:-1] if command.answer is None else (*teaching.answers, command.answer)
    try:
        teach(teaching.slots, answers)
    except Unfit:
        return Refused(Said("That was not asked: look again."))
    ended = replace(teaching, answers=answers, look=-1)
    return [*levels_of(state, teaching, {}), events.TeachingSet(command.person, ended)]


@answer.register
def _(command: commands.TakeTeach, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead", "crew"):
        return refused
    teaching = state.teaching
    if teaching is None:
        return Refused(NOBODY)
    if not _free_to_take(state, teaching, command.person, now):
        return taught_by(state, teaching)
    return [*all_at_zero(state, command.person, command.person)]


@answer.register
def _(command: commands.EndTeach, state: State, now: float, rules: Rules) -> Answer:
    teaching = state.teaching
    if teaching is None:
        return Refused(NOBODY)
    if not _free_to_take(state, teaching, command.person, now) and teaching.person != command.person:
        return taught_by(state, teaching)
    there = state.slots.get(teaching.universe, {})
    slots = [slot for slot in sorted(there) if teaching.holds(teaching.universe, slot)]
    given = [events.SlotSet(command.person, teaching.universe, slot, None) for slot in slots]
    return [*given, events.TeachingEnded(command.person)]


def _own(state: State, person: str) -> Teaching | Refused:
    if refused := allow(state, person, "lead", "crew"):
        return refused
    if state.teaching is None:
        return Refused(NOBODY)
    return state.teaching if state.teaching.person == person else taught_by(state, state.teaching)


def _free_to_take(state: State, teaching: Teaching, person: str, now: float) -> bool:
    who = state.people.get(person)
    if who is None or who.role not in ("lead", "crew"):
        return False
    away = teaching.person not in state.people or (
        teaching.person in state.gone and now - state.gone[teaching.person] >= AWAY_S
    )
    return who.role == "lead" or away


def _not_free(state: State, teaching: Teaching, rules: Rules) -> Refused | None:
    universe, first, last = teaching.universe, teaching.first, teaching.last
    limit = next((limit for limit in rules.off_limits if limit.holds(universe, first, last)), None)
    if limit is not None:
        slot = max(first, limit.first)
        return Refused(
            Said(
                "Universe {universe} slot {slot} is off limits: {why}.",
                universe=universe,
                slot=slot,
                why=limit.why,
            )
        )
    for unit, _, span in state.spans(universe):
        if span.first <= last and first <= span.last:
            slot = max(first, span.first)
            return Refused(
                Said(
                    "Universe {universe} slot {slot} belongs to {unit}.",
                    universe=universe,
                    slot=slot,
                    unit=spoken(unit),
                )
            )
    used = {u for f in state.fixtures.values() for u in f.universes} | state.opened
    if universe not in used and len(used) >= MOST_UNIVERSES:
        return Refused(Said("{most} universes are in use already. Free one first.", most=MOST_UNIVERSES))
    return None
