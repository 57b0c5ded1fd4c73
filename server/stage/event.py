"""What all events have in common."""

from dataclasses import dataclass

__all__ = ["Event"]


@dataclass(frozen=True, slots=True)
class Event:
    """Something done by `person` (their id; "" for the server itself)."""

    person: str
