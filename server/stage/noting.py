"""What is written down of what people do: one change for each command, and one for a whole drag."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.rig.said import Said
from server.stage import commands, commands_teach, events
from server.stage.commands import Command
from server.stage.events import Event
from server.stage.put_back import MOST_VALUES
from server.stage.state import Before, State, Who
from server.stage.told import told, told_before
from server.stage.undo import about_fixture, covers, reading, stood, subjects, weight

__all__ = ["MERGE_S", "Noting", "Seen", "see"]

MERGE_S = 2.0  # moves of one control no further apart than this are one change
DRAGS = (commands.SetValues, commands.SetMany, commands.SetSlot, commands.SetMaster)
# These mark what people do or what has happened already: they stand in the record and are never undone.
NEVER = (
    *(commands.Join, commands.Leave, commands.Act, commands.RunGuarded, commands.Arm, commands.LiftFlashes),
    *(commands.Seek, commands.AnswerSeek, commands.EndSeek),
    *commands_teach.TEACH,
    *(commands.HandsOn, commands.GoAloft, commands.CallDark, commands.AnswerDark),
    *(commands.SendShout, commands.SeeShout),
    *(commands.FocusNext, commands.FocusAt),  # the way back is another step
    *(commands.ReplaceShow, commands.TagOut, commands.RenamePerson, commands.RemovePerson, commands.SetPin),
    *(commands.StarProfile, commands.KeepPhoto, commands.DropPhoto, commands.BeginRound),
    *(
        commands.SetCheckLevel,
        commands.StartCheck,
        commands.StepCheck,
        commands.WalkCheck,
        commands.StopCheck,
    ),
)


@dataclass(slots=True)
class _Open:
    """A change that may still go on. last: when it last moved. more: whether it did after it was noted."""

    number: int
    command: Command
    about: tuple[str, ...]
    before: Before
    last: float
    more: bool = False


@dataclass(frozen=True, slots=True)
class Seen:
    """How it was before a command: who asked, what stood where it changes something, and maybe its words."""

    by: Who
    before: Before
    what: Said | None


def see(state: State, command: Command, happening: Iterable[Event]) -> Seen:
    """How it is now that these events are about to happen."""
    person = command.newcomer if isinstance(command, commands.Join) else state.people[command.person]
    by = Who(person.name, person.role, person.phone)
    return Seen(by, stood(state, happening), told_before(command, state))


class Noting:
    """Knows which changes still go on. That much is of this hour: a restart ends them all."""

    def __init__(self) -> None:
        self._open: dict[str, _Open] = {}

    def goes_on(self, command: Command, happening: Sequence[Event], now: float) -> bool:
        """Whether this is one more move of that person's last change, which is noted already."""
        last = self._open.get(command.person)
        if last is None or not isinstance(command, DRAGS) or not 0 <= now - last.last <= MERGE_S:
            return False
        if not all(covers(last.before, event) for event in happening):
            return False
        last.last, last.command, last.more = now, command, True
        return True

    def cut_short(self, state: State, command: Command, before: Before) -> list[Event]:
        """End what goes on about the same, and whatever that person was at: what follows comes after it.

        state: as it is before the command happens.
        """
        if isinstance(command, commands.ReplaceShow):
            self._open.clear()  # what goes on goes with the show
            return []
        undone = state.changes[command.change].about if isinstance(command, commands.Undo) else ()
        shared = {*undone, *subjects(state, before)}
        over = [
            who
            for who, each in self._open.items()
            if who == command.person or not shared.isdisjoint(each.about)
        ]
        return [event for who in over for event in self._close(state, who)]

    def note(
        self,
        state: State,
        command: Command,
        seen: Seen,
        happened: Iterable[Event],
        now: float,
    ) -> list[Event]:
        """What to write down of a command. state: as it left it. seen: how it was before."""
        if isinstance(command, commands.Undo):
            return []  # it says so itself
        by, before, never = seen.by, seen.before, isinstance(command, NEVER)
        what = seen.what or told(command, state, before)
        if what is None or not _counts(state, command, before, happened):
            return []
        about = subjects(state, before)
        fixture = getattr(command, "fixture", None)
        if isinstance(fixture, str) and about_fixture(fixture) not in about and fixture in state.fixtures:
            about = (about_fixture(fixture), *about)
        person = command.newcomer.id if isinstance(command, commands.Join) else command.person
        keep = None if never or weight(before) > MOST_VALUES else before
        number = state.changed + 1
        if isinstance(command, DRAGS):
            self._open[person] = _Open(number, command, about, before, now)
        return [events.Changed(person, number, now, by, about, what.parts(), keep)]

    def ended(self, state: State, now: float) -> list[Event]:
        """What the changes came to that have not moved for a while."""
        over = [person for person, each in self._open.items() if not 0 <= now - each.last <= MERGE_S]
        return [event for person in over for event in self._close(state, person)]

    def _close(self, state: State, person: str) -> list[Event]:
        over = self._open.pop(person)
        kept = state.changes.get(over.number)
        what = told(over.command, state, over.before) if over.more else None
        if what is None or kept is None or kept.what == what.parts():
            return []
        return [events.ChangeEnded(person, over.number, what.parts())]


def _counts(state: State, command: Command, before: Before, happened: Iterable[Event]) -> bool:
    """Whether anything is different now, or something was begun."""
    if isinstance(command, commands.RunGuarded):  # held on it is asked again and again: that is one run
        return any(isinstance(e, events.Ran) and e.for_s > 0 and e.since == e.at for e in happened)
    return isinstance(command, NEVER) or reading(state, before) != before
