"""What has happened to a universe that a console drives, too."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.shared import Shared

__all__ = ["LooksLifted", "UniverseShared"]


@dataclass(frozen=True, slots=True)
class LooksLifted(Event):
    """What recalled looks hold of these fixtures is let go of, over fade_s seconds."""

    fixtures: tuple[str, ...]
    fade_s: float


@dataclass(frozen=True, slots=True)
class UniverseShared(Event):
    """The lead has decided how a universe is shared; None: that decision is taken back."""

    universe: int
    shared: Shared | None
