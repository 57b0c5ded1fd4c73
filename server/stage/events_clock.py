"""What has happened to the clock that everything in the state counts by."""

from dataclasses import dataclass

from server.stage.event import Event

__all__ = ["ClockSet"]


@dataclass(frozen=True, slots=True)
class ClockSet(Event):
    """The laptop's clock was set, by so many seconds: on by more than 0, or back."""

    by_s: float
