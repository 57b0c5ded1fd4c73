"""What has happened in the focus call."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.focus import Call, Focus

__all__ = ["BesideSet", "CallChanged", "FocusSet", "NowSet", "OrderSet"]


@dataclass(frozen=True, slots=True)
class OrderSet(Event):
    """The order fixtures are focused in: the focus list."""

    order: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FocusSet(Event):
    """How far a unit is: all that is kept of it; None: nothing any more."""

    fixture: str
    focus: Focus | None


@dataclass(frozen=True, slots=True)
class NowSet(Event):
    """`who` is at that unit now; None: at none."""

    who: str
    fixture: str | None


@dataclass(frozen=True, slots=True)
class BesideSet(Event):
    """Units that are on because one beside them is focused: raw values under all hands; None: not any more.

    They rise over rise_s seconds; those that go fade over fade_s seconds, after wait_s.
    """

    values: dict[str, dict[str, int] | None]
    rise_s: float
    fade_s: float
    wait_s: float


@dataclass(frozen=True, slots=True)
class CallChanged(Event):
    """What the lead sets for the focus call."""

    call: Call
