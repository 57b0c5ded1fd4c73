"""What has happened while somebody looks for the light they stand under."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.seek import Seek

__all__ = ["SeekEnded", "Sought"]


@dataclass(frozen=True, slots=True)
class Sought(Event):
    """Somebody looks for the light they stand under, and has come so far."""

    seek: Seek


@dataclass(frozen=True, slots=True)
class SeekEnded(Event):
    """Nobody looks for a light any more. found: the one it was, when it was found."""

    found: str | None = None
