"""What the lead can ask about a universe that a console drives, too."""

from dataclasses import dataclass

from server.stage.command import Command
from server.stage.shared import Shared

__all__ = ["Share"]


@dataclass(frozen=True, slots=True)
class Share(Command):
    """Decide how a universe is shared; None: no decision, as at first."""

    universe: int
    shared: Shared | None
