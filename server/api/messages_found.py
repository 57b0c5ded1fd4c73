"""The messages of a rig check and of the register of faults, checked, and the commands they become."""

from typing import Annotated, Literal

from pydantic import Field

from server.api.message import Entry, Id, Message
from server.stage import commands
from server.stage.command import Command

__all__ = ["Found"]

Words = Annotated[str, Field(max_length=1000)]
Word = Annotated[str, Field(max_length=200)]


class _CheckRound(Message):
    do: Literal["check_round"]
    level: float
    begin: bool

    def command(self, person: str) -> Command:
        if self.begin:
            return commands.BeginRound(person, self.level)
        return commands.SetCheckLevel(person, self.level)


class _CheckStart(Message):
    do: Literal["check_start"]
    order: Word = "position"
    where: Word = ""
    unproved: bool = True
    fixture: Id | None = None
    of: Id | None = None

    def command(self, person: str) -> Command:
        return commands.StartCheck(person, self.order, self.where, self.unproved, self.fixture, self.of)


class _CheckStep(Message):
    do: Literal["check_step"]
    back: bool = False

    def command(self, person: str) -> Command:
        return commands.StepCheck(person, self.back)


class _CheckWalk(Message):
    do: Literal["check_walk"]
    stride: int | None

    def command(self, person: str) -> Command:
        return commands.WalkCheck(person, self.stride)


class _CheckStop(Message):
    do: Literal["check_stop"]

    def command(self, person: str) -> Command:
        return commands.StopCheck(person)


class _Judge(Entry):
    do: Literal["judge"]
    fixture: Id
    works: bool
    reason: Word = ""
    note: Words = ""
    photo: Word = ""

    def command(self, person: str) -> Command:
        return commands.Judge(person, self.fixture, self.works, self.reason, self.note, self.photo)


class _Settle(Entry):
    do: Literal["fault_settle"]
    case: int
    what: Word
    words: Words = ""
    photo: Word = ""

    def command(self, person: str) -> Command:
        return commands.SettleFault(person, self.case, self.what, self.words, self.photo)


Found = _CheckRound | _CheckStart | _CheckStep | _CheckWalk | _CheckStop | _Judge | _Settle
