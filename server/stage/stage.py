"""The live state and the one way to change it."""

from collections.abc import Sequence

from server.rig.said import Said
from server.stage import (
    decide_check,
    decide_fault,
    decide_focus,
    decide_guard,
    decide_light,
    decide_near,
    decide_outputs,
    decide_patch,
    decide_people,
    decide_photo,
    decide_replace,
    decide_seek,
    decide_shared,
    decide_shout,
    decide_show,
    decide_teach,
    decide_undo,
)
from server.stage import told_outputs as told_outputs
from server.stage import told_shared as told_shared
from server.stage.apply import apply
from server.stage.commands import Command
from server.stage.decide import Answer, Rules, decide
from server.stage.due import due
from server.stage.events import BlackoutSet, Changed, Entered, Event
from server.stage.holds import Refused
from server.stage.noting import Noting, see
from server.stage.state import State, Who

__all__ = ["Stage"]

# Importing them is what registers their rules with decide.answer.
RULES = (
    decide_check,
    decide_focus,
    decide_fault,
    decide_guard,
    decide_light,
    decide_near,
    decide_outputs,
    decide_patch,
    decide_people,
    decide_photo,
    decide_replace,
    decide_seek,
    decide_shared,
    decide_shout,
    decide_show,
    decide_teach,
    decide_undo,
)


class Stage:
    """State and how often it has changed.

    state: read by everybody, written only here. rev: goes up by one with each command that did something.
    """

    def __init__(self, rules: Rules, state: State | None = None) -> None:
        self.rules = rules
        self.state = state or State()
        self.rev = 0
        self._noting = Noting()

    def ask(self, command: Command, now: float, entry: str = "") -> Answer:
        """Decide a command at `now` seconds and apply what comes of it: the events, or the refusal.

        The last of the events say what is written down of it. entry: a phone's own name for something that it
        may have to send twice: the second time nothing happens.
        """
        if entry and entry in self.state.entries:
            return []
        answer = self._ask(command, now)
        if not entry or isinstance(answer, Refused):
            return answer
        return [*answer, *self._note([Entered(command.person, entry)])]

    def _ask(self, command: Command, now: float) -> Answer:
        answer = decide(self.state, command, now, self.rules)
        if isinstance(answer, Refused):
            return answer
        if not answer or self._noting.goes_on(command, answer, now):
            self.happen(answer)
            return answer
        seen = see(self.state, command, answer)
        ended = self._noting.cut_short(self.state, command, seen.before)
        self.happen(answer)
        notes = self._note(ended) + self._note(self._noting.note(self.state, command, seen, answer, now))
        return [*answer, *notes]

    def by_the_clock(self, now: float) -> list[Event]:
        """Apply what the time has come for, and write down what has come to its end."""
        happened = due(self.state, now)
        self.happen(happened)
        called = [e for e in happened if isinstance(e, BlackoutSet) and e.person in self.state.people]
        for event in called:
            person = self.state.people[event.person]
            by, what = Who(person.name, person.role, person.phone), Said("Blackout, as called.")
            number = self.state.changed + 1
            happened += self._note(
                [Changed(event.person, number, now, by, ("blackout",), what.parts(), None)]
            )
        return [*happened, *self._note(self._noting.ended(self.state, now))]

    def happen(self, happened: Sequence[Event]) -> None:
        """Apply events as they are."""
        for event in happened:
            apply(self.state, event)
        self.rev += bool(happened)

    def _note(self, notes: list[Event]) -> list[Event]:
        for event in notes:
            apply(self.state, event)
        return notes
