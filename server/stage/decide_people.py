"""The rules for who is known: joining, names, leaving, being removed, and the PINs of the roles."""

from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.holds import Refused, let_go_of_all
from server.stage.state import ROLES, Person, State
from server.stage.turn import leave_call

__all__ = ["MOST_PEOPLE", "free_name"]

MOST_PEOPLE = 200  # several crews in one day; more is somebody joining again and again
LONGEST_NAME = 30  # characters; called out across a stage it is one word
YESTERDAY_S = 12 * 3600.0  # who holds nothing and was not here for so long keeps no name from others
NO_NAME = Said(
    "Give a name of 1 to {most} characters, so that others know who has a light.", most=LONGEST_NAME
)
GONE = Said("They have left already.")


def free_name(state: State, name: str, now: float) -> str:
    """That name, or the first of "Mo 2", "Mo 3" that nobody else is called by."""
    free, number = name, 2
    while _taken(state, free, now):
        free, number = f"{name[: LONGEST_NAME - 4].rstrip()} {number}", number + 1
    return free


def _called(state: State, name: str) -> list[Person]:
    """Those whose names sound the same when they are called out."""
    return [p for p in state.people.values() if p.name.casefold() == name.casefold()]


def _taken(state: State, name: str, now: float, but: str = "") -> bool:
    return any(not _idle(state, p.id, now, YESTERDAY_S) for p in _called(state, name) if p.id != but)


def _idle(state: State, person: str, now: float, away_s: float) -> bool:
    """Whether nothing of theirs hangs on us: no phone for so long, no light, no hands, not aloft."""
    away = person in state.gone and now - state.gone[person] >= away_s
    return away and not _at_work(state, person) and person not in state.holders.values()


def _at_work(state: State, person: str) -> bool:
    return person in state.aloft or any(person in hands.people for hands in state.hands_on.values())


def _proper(name: str) -> str | None:
    """The name in one line; None: nothing that can be called out."""
    name = " ".join(name.split())
    return name if 1 <= len(name) <= LONGEST_NAME else None


@answer.register
def _(command: commands.Join, state: State, now: float, rules: Rules) -> Answer:
    newcomer = command.newcomer
    if _proper(newcomer.name) != newcomer.name:
        return Refused(NO_NAME)
    if (free := free_name(state, newcomer.name, now)) != newcomer.name:
        name = newcomer.name
        return Refused(
            Said(
                "{name} has joined already. Call yourself {free}, so that nobody is mistaken.",
                name=name,
                free=free,
            )
        )
    forgotten = [p.id for p in _called(state, newcomer.name)]
    if len(state.people) - len(forgotten) >= MOST_PEOPLE:
        idle = [p for p in state.people if p not in forgotten and _idle(state, p, now, 0)]
        if not idle:
            return Refused(Said("{most} people have joined. Ask the lead to remove some.", most=MOST_PEOPLE))
        forgotten.append(min(idle, key=lambda person: state.gone[person]))
    left = [events.PersonLeft(person) for person in forgotten]
    return [*left, events.PersonJoined(newcomer.id, newcomer), events.PersonWent(newcomer.id, now)]


@answer.register
def _(command: commands.Leave, state: State, now: float, rules: Rules) -> Answer:
    person = command.person
    if person in state.aloft:
        return Refused(Said("You are marked as aloft. Say first that you are down."))
    if _at_work(state, person):
        return Refused(Said("Your hands are on a fixture. Say first that they are off."))
    left = leave_call(state, person, person)
    return [*left, *let_go_of_all(state, person, person, command.leaving), events.PersonLeft(person)]


@answer.register
def _(command: commands.Arrive, state: State, now: float, rules: Rules) -> Answer:
    return [events.PersonCame(command.person)]


@answer.register
def _(command: commands.Withdraw, state: State, now: float, rules: Rules) -> Answer:
    return [events.PersonWent(command.person, now)]


@answer.register
def _(command: commands.RenamePerson, state: State, now: float, rules: Rules) -> Answer:
    if command.who != command.person and (refused := allow(state, command.person, "lead")):
        return refused
    known, name = state.people.get(command.who), _proper(command.name)
    if known is None:
        return Refused(GONE)
    if name is None:
        return Refused(NO_NAME)
    if name == known.name:
        return []
    if _taken(state, name, now, but=known.id):
        free = free_name(state, name, now)
        return Refused(Said("Somebody else is called {name}. {free} is free.", name=name, free=free))
    left = [events.PersonLeft(p.id) for p in _called(state, name) if p.id != known.id]
    return [*left, events.PersonRenamed(command.person, known.id, name)]


@answer.register
def _(command: commands.RemovePerson, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    known = state.people.get(command.who)
    if known is None:
        return Refused(GONE)
    if known.id == command.person:
        return Refused(Said("That is you. Leave on this phone instead."))
    if _at_work(state, known.id):
        return Refused(Said("{name} is aloft or has hands on a fixture. Ask them first.", name=known.name))
    let_gone = let_go_of_all(state, command.person, known.id, command.leaving)
    left = leave_call(state, command.person, known.id)
    return [*left, *let_gone, events.PersonRemoved(command.person, known.id)]


@answer.register
def _(command: commands.SetPin, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if command.role not in ROLES:
        return Refused(Said("There is no role called {role}.", role=command.role[:40]))
    return [events.PinSet(command.person, command.role, command.pin_hash)]
