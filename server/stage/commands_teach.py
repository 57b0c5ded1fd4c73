"""What somebody can ask who teaches a fixture without a profile."""

from dataclasses import dataclass

from server.stage.command import Command

__all__ = ["TEACH", "AnswerTeach", "BeginTeach", "EndTeach", "HoldTeach", "TakeTeach"]


@dataclass(frozen=True, slots=True)
class BeginTeach(Command):
    """Teach the unit on so many slots from `first`."""

    universe: int
    first: int
    slots: int


@dataclass(frozen=True, slots=True)
class HoldTeach(Command):
    """Show a look of the step for as long as a button is held; asked again at least every second."""

    press: int
    look: int
    on: bool


@dataclass(frozen=True, slots=True)
class AnswerTeach(Command):
    """What was seen, one of the step's choices; None: take the last answer back."""

    answer: str | None


@dataclass(frozen=True, slots=True)
class TakeTeach(Command):
    """Carry on where somebody stopped whose phone is away; the lead at any time."""


@dataclass(frozen=True, slots=True)
class EndTeach(Command):
    """No longer: its slots are given back, and what was answered is forgotten."""


TEACH = (BeginTeach, HoldTeach, AnswerTeach, TakeTeach, EndTeach)
