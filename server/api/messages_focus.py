"""The messages of a focus call, checked, and the commands they become."""

from typing import Annotated, Literal

from pydantic import Field

from server.api.message import Entry, Id, Message
from server.stage import commands
from server.stage.command import Command

__all__ = ["Focus"]

Word = Annotated[str, Field(min_length=1, max_length=20)]


class _FocusNext(Message):
    do: Literal["focus_next"]
    of: Id | None = None
    after: Id | None = None
    mark: Word | None = None
    over: bool = False

    def command(self, person: str) -> Command:
        return commands.FocusNext(person, self.of, self.after, self.mark, self.over)


class _FocusAt(Message):
    do: Literal["focus_at"]
    fixture: Id | None
    of: Id | None = None
    mark: Word | None = None
    over: bool = False

    def command(self, person: str) -> Command:
        return commands.FocusAt(person, self.fixture, self.of, self.mark, self.over)


class _FocusMark(Entry):
    do: Literal["focus_mark"]
    fixture: Id
    mark: Word

    def command(self, person: str) -> Command:
        return commands.MarkFocus(person, self.fixture, self.mark)


class _FocusGive(Message):
    do: Literal["focus_give"]
    fixtures: list[Id] = Field(max_length=2048)
    to: Id | None

    def command(self, person: str) -> Command:
        return commands.GiveFocus(person, tuple(self.fixtures), self.to)


class _FocusNote(Entry):
    do: Literal["focus_note"]
    fixture: Id
    note: dict[Word, Annotated[str, Field(max_length=1000)]] = Field(max_length=16)

    def command(self, person: str) -> Command:
        return commands.WriteNote(person, self.fixture, self.note)


class _Shout(Message):
    do: Literal["shout"]
    what: Word
    to: Id | None = None

    def command(self, person: str) -> Command:
        return commands.SendShout(person, self.what, self.to)


class _ShoutSeen(Message):
    do: Literal["shout_seen"]
    number: int

    def command(self, person: str) -> Command:
        return commands.SeeShout(person, self.number)


Focus = _Shout | _ShoutSeen | _FocusNext | _FocusAt | _FocusMark | _FocusGive | _FocusNote
