"""What has happened to the profiles a show comes back to; see events.py."""

from dataclasses import dataclass

from server.stage.event import Event

__all__ = ["StarsSet"]


@dataclass(frozen=True, slots=True)
class StarsSet(Event):
    """The starred profiles, by key."""

    keys: tuple[str, ...]
