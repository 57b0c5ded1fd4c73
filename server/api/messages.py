"""The messages a phone sends on the live channel, checked, and the commands they become."""

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, TypeAdapter, ValidationError

from server.api.message import Entry, Id, Message
from server.api.messages_focus import Focus
from server.api.messages_found import Found
from server.api.messages_shared import SharedMessage
from server.api.messages_teach import Teach
from server.stage import commands
from server.stage.commands import Command

__all__ = ["LONGEST", "Asked", "MessageError", "Signal", "read"]

LONGEST = 65_536  # characters; a page's longest message, all controls of a large unit, is a tenth of it
SLOWEST_MS = 60_000  # a page gives the socket up after seconds of silence: nothing real is slower

Key = Annotated[str, Field(min_length=1, max_length=120)]


@dataclass(frozen=True, slots=True)
class Signal:
    """How long a phone waits for an answer, as it has measured: nothing of the show, so nothing that is kept.

    rtt_ms: there and back, or None while it does not know yet.
    """

    rtt_ms: int | None


class _Set(Message):
    do: Literal["set"]
    fixture: Id
    values: dict[Key, Any] = Field(max_length=2048)
    held: bool = False

    def command(self, person: str) -> Command:
        return commands.SetValues(person, self.fixture, self.values, self.held)


class _SetMany(Message):
    do: Literal["set_many"]
    values: dict[Id, dict[Key, Any]] = Field(max_length=512)
    held: bool = False

    def command(self, person: str) -> Command:
        return commands.SetMany(person, self.values, self.held)


class _LightUp(Message):
    do: Literal["light_up"]
    fixture: Id
    as_it_hangs: bool = False
    held: bool = False

    def command(self, person: str) -> Command:
        return commands.LightUp(person, self.fixture, self.as_it_hangs, self.held)


class _Take(Message):
    do: Literal["take"]
    fixture: Id
    over: bool = False

    def command(self, person: str) -> Command:
        return commands.Take(person, self.fixture, self.over)


class _LetGo(Message):
    do: Literal["let_go"]
    fixture: Id
    of: Id | None = None

    def command(self, person: str) -> Command:
        return commands.LetGo(person, self.fixture, self.of)


class _Slot(Message):
    do: Literal["slot"]
    universe: int
    slot: int
    raw: int | None

    def command(self, person: str) -> Command:
        return commands.SetSlot(person, self.universe, self.slot, self.raw)


class _Blackout(Message):
    do: Literal["blackout"]
    on: bool

    def command(self, person: str) -> Command:
        return commands.SetBlackout(person, self.on)


class _Master(Message):
    do: Literal["master"]
    value: float

    def command(self, person: str) -> Command:
        return commands.SetMaster(person, self.value)


class _Act(Message):
    do: Literal["act"]
    fixture: Id
    control: Key
    function: Key
    held: bool = False

    def command(self, person: str) -> Command:
        return commands.Act(person, self.fixture, self.control, self.function, self.held)


class _HandsOn(Message):
    do: Literal["hands_on"]
    fixture: Id
    on: bool
    of: Id | None = None

    def command(self, person: str) -> Command:
        return commands.HandsOn(person, self.fixture, self.on, self.of)


class _Aloft(Message):
    do: Literal["aloft"]
    position: Annotated[str, Field(max_length=200)] | None
    of: Id | None = None

    def command(self, person: str) -> Command:
        return commands.GoAloft(person, self.position, self.of)


class _OutOfUse(Message):
    do: Literal["out_of_use"]
    fixture: Id
    reason: Annotated[str, Field(max_length=1000)] | None

    def command(self, person: str) -> Command:
        return commands.TagOut(person, self.fixture, self.reason)


class _GoingDark(Message):
    do: Literal["going_dark"]

    def command(self, person: str) -> Command:
        return commands.CallDark(person)


class _DarkAnswer(Message):
    do: Literal["dark_answer"]
    yes: bool

    def command(self, person: str) -> Command:
        return commands.AnswerDark(person, self.yes)


class _Arm(Message):
    do: Literal["arm"]
    fixture: Id
    reason: Annotated[str, Field(max_length=1000)] | None
    seconds: float = 60.0

    def command(self, person: str) -> Command:
        return commands.Arm(person, self.fixture, self.reason, self.seconds)


class _Run(Message):
    do: Literal["run"]
    fixture: Id
    values: dict[Key, Any] = Field(max_length=64)
    press: int
    on: bool

    def command(self, person: str) -> Command:
        return commands.RunGuarded(person, self.fixture, self.values, self.press, self.on)


class _LiftFlashes(Message):
    do: Literal["lift_flashes"]
    fixture: Id | None

    def command(self, person: str) -> Command:
        return commands.LiftFlashes(person, self.fixture)


class _Seek(Message):
    do: Literal["seek"]
    fixtures: tuple[Id, ...] | None = Field(default=None, max_length=2048)

    def command(self, person: str) -> Command:
        return commands.Seek(person, self.fixtures)


class _SeekAnswer(Message):
    do: Literal["seek_answer"]
    mine: bool | None

    def command(self, person: str) -> Command:
        return commands.AnswerSeek(person, self.mine)


class _SeekEnd(Message):
    do: Literal["seek_end"]
    found: bool = False

    def command(self, person: str) -> Command:
        return commands.EndSeek(person, self.found)


class _Undo(Message):
    do: Literal["undo"]
    change: int
    over: bool = False
    held: bool = False

    def command(self, person: str) -> Command:
        return commands.Undo(person, self.change, self.over, self.held)


class _Fault(Entry):
    do: Literal["fault"]
    fixture: Id
    words: Annotated[str, Field(max_length=1000)] | None

    def command(self, person: str) -> Command:
        return commands.MarkFault(person, self.fixture, self.words)


class _Signal(Message):
    do: Literal["signal"]
    rtt_ms: Annotated[int, Field(ge=0, le=SLOWEST_MS)] | None

    def command(self, person: str) -> Signal:
        return Signal(self.rtt_ms)


_Light = _Set | _SetMany | _LightUp | _Take | _LetGo | _Slot | _Blackout | _Master | _Act
_Care = _HandsOn | _OutOfUse | _Aloft | _GoingDark | _DarkAnswer | _Arm | _Run | _LiftFlashes
_Find = _Seek | _SeekAnswer | _SeekEnd
_Any = _Light | _Care | _Find | Focus | _Undo | _Fault | _Signal | Found | Teach | SharedMessage
_ADAPTER: TypeAdapter[_Any] = TypeAdapter(Annotated[_Any, Field(discriminator="do")])
_NUMBER: TypeAdapter[dict[str, Any]] = TypeAdapter(dict[str, Any])


class MessageError(Exception):
    """This message cannot be understood. n: its number, where it had one."""

    def __init__(self, why: str, n: int) -> None:
        super().__init__(why)
        self.why, self.n = why, n


class Asked:
    """A message understood: its number and the command, or the signal that a phone reports.

    entry, ago_s: as in `message.Entry`; "" and 0 for everything else.
    """

    __slots__ = ("ago_s", "command", "entry", "n")

    def __init__(self, n: int, command: Command | Signal, entry: str = "", ago_s: float = 0.0) -> None:
        self.n, self.command, self.entry, self.ago_s = n, command, entry, ago_s


def read(text: str, person: str) -> Asked:
    """The command in a message of that person. Raises MessageError with a sentence."""
    if len(text) > LONGEST:
        raise MessageError(f"A message has at most {LONGEST} characters; this one has {len(text)}.", 0)
    try:
        message = _ADAPTER.validate_json(text)
    except ValidationError as wrong:
        first = wrong.errors(include_url=False, include_input=False)[0]
        if first["type"] == "union_tag_invalid":
            raise MessageError(
                f"do: nothing here is called {first['ctx']['tag']:.40}.", _number(text)
            ) from None
        where = ".".join(str(part) for part in first["loc"][1:])
        raise MessageError(
            f"{where}: {first['msg']}." if where else f"{first['msg']}.", _number(text)
        ) from None
    command = message.command(person)
    if isinstance(message, Entry):
        return Asked(message.n, command, message.entry, message.ago_s)
    return Asked(message.n, command)


def _number(text: str) -> int:
    try:
        n = _NUMBER.validate_json(text).get("n")
    except ValidationError:
        return 0
    return n if isinstance(n, int) and not isinstance(n, bool) else 0
