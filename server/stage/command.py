"""What all commands have in common."""

from dataclasses import dataclass

__all__ = ["Command"]


@dataclass(frozen=True, slots=True)
class Command:
    """Something asked by `person` (their id)."""

    person: str
