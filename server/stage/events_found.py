"""What has been found out about the rig: photos."""

from dataclasses import dataclass

from server.stage.event import Event
from server.stage.found import Photo

__all__ = ["PhotoDropped", "PhotoKept"]


@dataclass(frozen=True, slots=True)
class PhotoKept(Event):
    """A photo is in the show's file under that name."""

    photo: str
    taken: Photo


@dataclass(frozen=True, slots=True)
class PhotoDropped(Event):
    """A photo is gone."""

    photo: str
