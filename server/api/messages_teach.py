"""The messages of teaching a fixture, checked, and the commands they become."""

from typing import Annotated, Literal

from pydantic import Field

from server.api.message import Message
from server.stage import commands_teach as commands
from server.stage.command import Command

__all__ = ["Teach"]


class _Begin(Message):
    do: Literal["teach_begin"]
    universe: int
    first: int
    slots: int

    def command(self, person: str) -> Command:
        return commands.BeginTeach(person, self.universe, self.first, self.slots)


class _Hold(Message):
    do: Literal["teach_hold"]
    press: int
    look: Annotated[int, Field(ge=0, le=9)]
    on: bool

    def command(self, person: str) -> Command:
        return commands.HoldTeach(person, self.press, self.look, self.on)


class _Answer(Message):
    do: Literal["teach_answer"]
    answer: Annotated[str, Field(max_length=40)] | None

    def command(self, person: str) -> Command:
        return commands.AnswerTeach(person, self.answer)


class _Take(Message):
    do: Literal["teach_take"]

    def command(self, person: str) -> Command:
        return commands.TakeTeach(person)


class _End(Message):
    do: Literal["teach_end"]

    def command(self, person: str) -> Command:
        return commands.EndTeach(person)


Teach = _Begin | _Hold | _Answer | _Take | _End
