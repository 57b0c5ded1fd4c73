"""The rules for faults: written down, said more of, fixed, seen to work, and open again."""

from dataclasses import replace

from server.rig.patch import Fixture
from server.rig.said import Said
from server.stage import commands, events
from server.stage.cases import STEPS, case_of, with_step
from server.stage.decide import LONGEST_FAULT, Answer, Rules, answer
from server.stage.events import Event
from server.stage.found import Case, FaultStep
from server.stage.holds import Refused
from server.stage.near import called
from server.stage.state import State

__all__ = ["settled", "wrong"]

HOUSE = Said("House staff write faults down for house fixtures. Tell the lead about this one.")


def wrong(
    state: State, person: str, unit: Fixture, words: str, now: float, reason: str = "", photo: str = ""
) -> list[Event]:
    """What writing down that something is wrong with a unit comes to."""
    case = case_of(state, unit.id)
    if case is None:
        profile = state.profiles.get(unit.profile)
        case = Case(
            max(state.cases, default=0) + 1,
            unit.id,
            unit.channel,
            unit.position,
            unit.unit,
            profile.name if profile else unit.profile,
            state.show.name,
            state.show.venue,
            reason,
            words,
            (),
        )
        what = "opened"
    else:
        what = "said" if case.status == "open" else "reopened"
    step = FaultStep(what, person, called(state, person), now, words, photo)
    told = replace(with_step(case, step), reason=reason or case.reason, words=words)
    return [events.FaultSet(person, unit.id, words), events.CaseSet(person, told)]


def settled(
    state: State, person: str, fixture: str, what: str, now: float, words: str = "", photo: str = ""
) -> list[Event]:
    """What comes of saying that the fault of a unit is fixed, or over; nothing without one."""
    case = _case(state, fixture)
    gone = [events.FaultSet(person, fixture, None)] if fixture in state.faults else []
    if case is None:
        return list(gone)
    step = FaultStep(what, person, called(state, person), now, words, photo)
    return [*gone, events.CaseSet(person, with_step(case, step))]


def _case(state: State, fixture: str) -> Case | None:
    """Its case; one made up for a fault from before there was a register."""
    case, fault, unit = case_of(state, fixture), state.faults.get(fixture), state.fixtures.get(fixture)
    if case is None and fault is not None and unit is not None:
        opened = wrong(state, fault.person, unit, fault.words, 0.0)[-1]
        return opened.case if isinstance(opened, events.CaseSet) else None
    return case


@answer.register
def _(command: commands.MarkFault, state: State, now: float, rules: Rules) -> Answer:
    unit = state.fixtures.get(command.fixture)
    if unit is None:
        return Refused(Said("There is no such fixture any more."), command.fixture)
    if state.people[command.person].role == "house" and not unit.house:
        return Refused(HOUSE)
    if command.words is None:
        return settled(state, command.person, unit.id, "verified", now)
    words = " ".join(command.words.split())
    if not 1 <= len(words) <= LONGEST_FAULT:
        return Refused(Said("Say what is wrong in 1 to {most} characters.", most=LONGEST_FAULT), unit.id)
    return wrong(state, command.person, unit, words, now)


@answer.register
def _(command: commands.SettleFault, state: State, now: float, rules: Rules) -> Answer:
    case = state.cases.get(command.case)
    if case is None:
        return Refused(Said("There is no such fault any more."))
    unit = state.fixtures.get(case.fixture)
    if state.people[command.person].role == "house" and (unit is None or not unit.house):
        return Refused(HOUSE)
    words = " ".join(command.words.split())
    if command.what not in STEPS[1:] or len(words) > LONGEST_FAULT or (command.what == "said" and not words):
        return Refused(Said("Say what is wrong in 1 to {most} characters.", most=LONGEST_FAULT), case.fixture)
    photo = state.photos.get(command.photo)
    if command.photo and (photo is None or photo.fixture != case.fixture):
        return Refused(Said("There is no such photo any more."), case.fixture)
    if refused := _not_from_here(state, case, command.what):
        return refused
    step = FaultStep(command.what, command.person, called(state, command.person), now, words, command.photo)
    mark: list[Event] = []
    if unit is not None and command.what == "reopened":
        mark = [events.FaultSet(command.person, unit.id, words or case.words)]
    elif command.what in ("fixed", "verified") and case.fixture in state.faults:
        mark = [events.FaultSet(command.person, case.fixture, None)]
    told = with_step(case, step)
    if command.what == "reopened" and words:
        told = replace(told, words=words)
    return [*mark, events.CaseSet(command.person, told)]


def _not_from_here(state: State, case: Case, what: str) -> Refused | None:
    if what == "fixed" and case.status != "open":
        return Refused(Said("That fault is not open."), case.fixture)
    if what == "verified" and case.status == "verified":
        return Refused(Said("That fault is over already."), case.fixture)
    if what == "reopened":
        newer = case_of(state, case.fixture)
        if case.status == "open" or (newer is not None and newer.number != case.number):
            return Refused(Said("That unit has an open fault already."), case.fixture)
    return None
