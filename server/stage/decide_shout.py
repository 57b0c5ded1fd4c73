"""The rules of calls across the room. They are words: nothing stops, moves or lights by them."""

from server.rig.said import Said
from server.stage import commands, events
from server.stage.decide import Answer, Rules, allow, answer
from server.stage.holds import Refused
from server.stage.shout import MOST_SHOUTS, SHOUTS, Shout
from server.stage.state import State

__all__: list[str] = []


@answer.register
def _(command: commands.SendShout, state: State, now: float, rules: Rules) -> Answer:
    person = command.person
    if refused := allow(state, person, "lead", "crew"):
        return refused
    if command.what not in SHOUTS:
        return Refused(Said("There is no call {what}.", what=command.what[:40]))
    to = (command.to,) if command.to is not None else _everybody(state, person)
    if command.to is not None and (command.to == person or command.to not in _hear(state)):
        return Refused(Said("Nobody of the lead or the crew has that name."))
    if not to:
        return Refused(Said("Nobody is there to be called."))
    # Called again, it is the same call anew; and of too many the oldest go.
    same = (person, command.what, to)
    again = [n for n, s in state.shouts.items() if (s.person, s.what, s.to) == same]
    over = {*again, *sorted(state.shouts)[: max(0, len(state.shouts) - MOST_SHOUTS + 1)]}
    number = max(max(state.shouts, default=0) + 1, int(1000 * now))  # never one that was given before
    shout = Shout(number, person, state.people[person].name, to, command.what, now)
    ended = [events.ShoutsOver(person, tuple(sorted(over)))] if over else []
    return [*ended, events.Shouted(person, shout)]


def _hear(state: State) -> list[str]:
    return [p.id for p in state.people.values() if p.role != "house"]


def _everybody(state: State, person: str) -> tuple[str, ...]:
    """Whom a call without a name goes to: the leads; a lead's to those at work, else to all who are here."""
    people = [p for p in _hear(state) if p != person]
    leads = [p for p in people if state.people[p].role == "lead"]
    if state.people[person].role != "lead":
        return tuple([p for p in leads if p not in state.gone] or leads)
    given = {focus.given for focus in state.focus.values()}
    at_work = [p for p in people if p in state.now or p in state.aloft or p in given]
    return tuple(at_work or [p for p in people if p not in state.gone])


@answer.register
def _(command: commands.SeeShout, state: State, now: float, rules: Rules) -> Answer:
    shout = state.shouts.get(command.number)
    if shout is None or command.person not in shout.to or command.person in shout.seen:
        return []  # another phone of theirs was first, or it is over
    return [events.ShoutSeen(command.person, command.number)]
