"""What the lead can ask about a universe that a console drives, too."""

from dataclasses import dataclass

from server.stage.command import Command
from server.stage.shared import Shared

__all__ = ["Share"]


@dataclass(frozen=True, slots=True)
class Share(Command):
    """Decide how a universe is shared; None: no decision, as at first.

    held: the button was held through the caution, so ending it while somebody is aloft is meant.
    """

    universe: int
    shared: Shared | None
    held: bool = False
