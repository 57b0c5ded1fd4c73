"""What the lead can ask about where universes go."""

from dataclasses import dataclass

from server.stage.command import Command
from server.stage.outputs import Route, Sync, Way

__all__ = ["SetRoute", "SetSync"]


@dataclass(frozen=True, slots=True)
class SetRoute(Command):
    """Let a universe go there; None: as the command line says.

    ways: the interfaces that are there, the main one first where there is one; None: nobody has looked.
    has_main: whether one is chosen.
    """

    universe: int
    route: Route | None
    ways: tuple[Way, ...] | None = None
    has_main: bool = True


@dataclass(frozen=True, slots=True)
class SetSync(Command):
    """Let receivers show all universes at one moment, or not."""

    sync: Sync
