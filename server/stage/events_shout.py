"""What has happened in calls across the room."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.shout import Shout

__all__ = ["ShoutSeen", "Shouted", "ShoutsOver"]


@dataclass(frozen=True, slots=True)
class Shouted(Event):
    """Somebody called something."""

    shout: Shout


@dataclass(frozen=True, slots=True)
class ShoutSeen(Event):
    """`person` has seen that call."""

    number: int


@dataclass(frozen=True, slots=True)
class ShoutsOver(Event):
    """Nobody waits for these calls any more."""

    numbers: tuple[int, ...]
