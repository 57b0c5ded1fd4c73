"""What the lead can ask about a universe that a console drives, too."""

from dataclasses import dataclass, field

from server.stage.command import Command
from server.stage.shared import Shared
from server.stage.state import Leaving

__all__ = ["ClearUniverse", "GiveBack", "Share"]


@dataclass(frozen=True, slots=True)
class Share(Command):
    """Decide how a universe is shared; None: no decision, as at first.

    held: the button was held through the caution, so ending it while somebody is aloft is meant.
    """

    universe: int
    shared: Shared | None
    held: bool = False


@dataclass(frozen=True, slots=True)
class ClearUniverse(Command):
    """Let go of everything on a universe and follow the console there, to give it back.

    held: the button was held through the caution: what others hold goes, too, also beside people aloft.
    """

    universe: int
    held: bool = False
    leaving: Leaving = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GiveBack(Command):
    """Send nothing on a universe any more, once it has been let go of.

    to: who drives it. slots: how many were borrowed; back: of them, as the console sends them. differing: all
    that were not.
    """

    universe: int
    to: str
    slots: int
    back: int
    differing: int
