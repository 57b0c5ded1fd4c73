"""What people find out about the rig, as the state keeps it."""

from dataclasses import dataclass

__all__ = ["Photo"]


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of a unit: who took it, what they were called, when (wall-clock seconds), and its octets.

    The picture itself lies in the show's file, never in the state.
    """

    fixture: str
    person: str
    name: str
    at: float
    octets: int
