"""The rules for people at their work: hands on a unit, out of use, aloft, and the dark that waits."""

from server.rig.patch import spoken
from server.rig.profile import INTENSITY
from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.near import called, freezing, stay_still
from server.stage.state import State

__all__: list[str] = []

LONGEST_POSITION = 60
LONGEST_REASON = 100


@answer.register
def _(command: commands.HandsOn, state: State, now: float, rules: Rules) -> Answer:
    person, fixture = command.person, command.fixture
    unit, mode, hands = state.fixtures.get(fixture), state.mode(fixture), state.hands_on.get(fixture)
    if unit is None or mode is None:
        return Refused(Said("There is no such fixture any more."), fixture)
    if state.people[person].role == "house" and not unit.house:
        return Refused(Said("House staff put their hands on house fixtures. Tell the lead."), fixture)
    people = hands.people if hands else ()
    if command.on:
        if person in people:
            return []
        still = freezing(mode, {**state.asked(fixture, mode), **command.leaving.get(fixture, {})})
        return [events.HandsOnSet(person, fixture, still, person)]
    off = command.off_of or (person if person in people else None)
    if not people or (off is not None and off not in people):
        return []
    if off != person and allow(state, person, "lead"):
        name = called(state, people[0])
        return Refused(Said("{name} has hands on it. Ask them, or the lead.", name=name), fixture)
    return [events.HandsOnSet(person, fixture, None, off)]


@answer.register
def _(command: commands.TagOut, state: State, now: float, rules: Rules) -> Answer:
    person, fixture = command.person, command.fixture
    unit, mode, out = state.fixtures.get(fixture), state.mode(fixture), state.out_of_use.get(fixture)
    if unit is None or mode is None:
        return Refused(Said("There is no such fixture any more."), fixture)
    if state.people[person].role == "house" and not unit.house:
        return Refused(
            Said("House staff take house fixtures out of use. Tell the lead about this one."), fixture
        )
    if command.reason is None:
        if out is not None and out.person != person and allow(state, person, "lead"):
            name = called(state, out.person)
            return Refused(Said("{name} took it out of use. Ask them, or the lead.", name=name), fixture)
        return [events.OutOfUseSet(person, fixture, None, {})] if out else []
    reason = " ".join(command.reason.split())
    if not 1 <= len(reason) <= LONGEST_REASON:
        return Refused(Said("Say in 1 to {most} characters why.", most=LONGEST_REASON), fixture)
    asked = state.asked(fixture, mode)
    levels = [c for c in mode.controls if c.mastered or c.attribute == INTENSITY]
    if any(asked[c.key] for c in levels) and not state.guarded(unit):
        why = Said("{unit} is asked for light. Take it to 0 first, then out of use.", unit=spoken(unit))
        return Refused(why, fixture)
    frozen = freezing(mode, {**asked, **command.leaving.get(fixture, {})}) | {c.key: 0 for c in levels}
    return [events.OutOfUseSet(person, fixture, reason, frozen)]


@answer.register
def _(command: commands.GoAloft, state: State, now: float, rules: Rules) -> Answer:
    who = command.of or command.person
    before = state.aloft.get(who)
    if who != command.person and command.position is not None:
        return Refused(Said("Everybody says for themselves that they go aloft."))
    if who != command.person and (refused := allow(state, command.person, "lead")):
        return refused
    position = None if command.position is None else " ".join(command.position.split())
    if position is not None and not 1 <= len(position) <= LONGEST_POSITION:
        return Refused(Said("Say in 1 to {most} characters where that is.", most=LONGEST_POSITION))
    if (before.position if before else None) == position:
        return []
    happened: list[Event] = [events.AloftSet(command.person, who, position, now)]
    for unit in state.fixtures.values():
        if position is not None and unit.position == position:
            happened += stay_still(state, command.person, unit.id, command.leaving.get(unit.id, {}))
        elif before and unit.position == before.position and state.aloft_at(before.position) == [who]:
            happened += [events.StillSet(command.person, unit.id, None)] if unit.id in state.still else []
    return happened


@answer.register
def _(command: commands.CallDark, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if state.blackout:
        return []
    if state.dark is not None and state.dark.refused is None:
        name = called(state, state.dark.person)
        return Refused(Said("{name} has called dark already.", name=name))
    return [events.DarkCalled(command.person, now)]


@answer.register
def _(command: commands.AnswerDark, state: State, now: float, rules: Rules) -> Answer:
    if state.dark is None or state.dark.refused is not None:
        return Refused(Said("Nobody calls dark at the moment."))
    if not command.yes:
        return [events.DarkAnswered(command.person, False, now)]
    if command.person not in state.aloft or command.person in state.dark.agreed:
        return []
    return [events.DarkAnswered(command.person, True, now)]
