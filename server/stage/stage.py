"""The live state and the one way to change it."""

from collections.abc import Sequence

from server.stage import (
    decide_guard,
    decide_light,
    decide_near,
    decide_patch,
    decide_people,
    decide_replace,
    decide_show,
)
from server.stage.apply import apply
from server.stage.commands import Command
from server.stage.decide import Answer, Rules, decide
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.state import State

__all__ = ["Stage"]

# Importing them is what registers their rules with decide.answer.
RULES = (decide_guard, decide_light, decide_near, decide_patch, decide_people, decide_replace, decide_show)


class Stage:
    """State and how often it has changed.

    state: read by everybody, written only here. rev: goes up by one with each command that did something.
    """

    def __init__(self, rules: Rules, state: State | None = None) -> None:
        self.rules = rules
        self.state = state or State()
        self.rev = 0

    def ask(self, command: Command, now: float) -> Answer:
        """Decide a command at `now` seconds and apply what comes of it: the events, or the refusal."""
        answer = decide(self.state, command, now, self.rules)
        if isinstance(answer, Refused):
            return answer
        self.happen(answer)
        return answer

    def happen(self, happened: Sequence[Event]) -> None:
        """Apply events as they are."""
        for event in happened:
            apply(self.state, event)
        self.rev += bool(happened)
