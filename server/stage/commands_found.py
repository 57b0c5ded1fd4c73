"""What somebody can ask about what they have found: photos."""

from dataclasses import dataclass

from server.stage.command import Command

__all__ = ["DropPhoto", "KeepPhoto"]


@dataclass(frozen=True, slots=True)
class KeepPhoto(Command):
    """Keep a photo of a fixture under a new name. octets: how many it has."""

    fixture: str
    photo: str
    octets: int


@dataclass(frozen=True, slots=True)
class DropPhoto(Command):
    """Delete a photo. What refers to it says so without it."""

    photo: str
