"""What has happened while somebody teaches a fixture."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.teaching import Teaching

__all__ = ["TeachingEnded", "TeachingSet"]


@dataclass(frozen=True, slots=True)
class TeachingSet(Event):
    """So far somebody has come, and this is held up now."""

    teaching: Teaching


@dataclass(frozen=True, slots=True)
class TeachingEnded(Event):
    """Nobody teaches any more."""
