"""What has happened to where universes go."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.outputs import Route, Sync

__all__ = ["RouteSet", "SyncSet"]


@dataclass(frozen=True, slots=True)
class RouteSet(Event):
    """A universe goes there from now on; None: as the command line says."""

    universe: int
    route: Route | None


@dataclass(frozen=True, slots=True)
class SyncSet(Event):
    """Whether receivers show all universes at one moment."""

    sync: Sync
