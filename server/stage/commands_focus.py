"""What somebody can ask in the focus call."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from server.stage.command import Command
from server.stage.state import Leaving

__all__ = [
    "ChangeCall",
    "FocusAt",
    "FocusNext",
    "GiveFocus",
    "MarkFocus",
    "SetOrder",
    "UpdateLook",
    "WriteNote",
]


@dataclass(frozen=True, slots=True)
class SetOrder(Command):
    """The order fixtures are focused in, as ids: the focus list."""

    order: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FocusNext(Command):
    """Bring up what comes next on the list, and then let go of the last one.

    of: whose turn it is, when not one's own. after: the unit it is to come after: where somebody has pressed
    already, nothing happens. mark: of focus.MARKS, for the last one; None: it stays as it is. over: also out
    of somebody else's hand.
    """

    of: str | None = None
    after: str | None = None
    mark: str | None = None
    over: bool = False
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FocusAt(Command):
    """The same with a unit that is named; None: let go of the last one, and be at none."""

    fixture: str | None
    of: str | None = None
    mark: str | None = None
    over: bool = False
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class MarkFocus(Command):
    """Say how far a unit is: of focus.MARKS."""

    fixture: str
    mark: str


@dataclass(frozen=True, slots=True)
class GiveFocus(Command):
    """Give units on the list to somebody (their id); None: to whoever comes to them."""

    fixtures: tuple[str, ...]
    to: str | None


@dataclass(frozen=True, slots=True)
class WriteNote(Command):
    """Write down what a beam is to do: some fields of focus.FocusNote."""

    fixture: str
    note: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ChangeCall(Command):
    """Change some fields of focus.Call."""

    changes: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class UpdateLook(Command):
    """Keep in a look what one has in hand. wanted: the values that were shown before, by fixture and control.

    Where something else is in hand meanwhile, nothing is kept.
    """

    look: str
    wanted: Mapping[str, Mapping[str, int]] | None = None
