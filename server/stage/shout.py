"""Calls across the room: a word to somebody, and whether they have seen it."""

from dataclasses import dataclass

__all__ = ["FORGOTTEN_S", "MOST_SHOUTS", "SHOUTS", "SHOUT_S", "Shout"]

# The words there are, the most important first.
SHOUTS = ("stop", "hold", "work_light", "next", "ready")
SHOUT_S = 60.0  # older than that, nobody who comes back is told any more, and what was seen is cleared away
FORGOTTEN_S = 600.0  # so long its sender sees that nobody has seen it
MOST_SHOUTS = 50  # more at once nobody reads


@dataclass(frozen=True, slots=True)
class Shout:
    """`person`, then called `name`, called `what` (of SHOUTS) to these people at `at` (wall-clock seconds).

    seen: who of them has said that they saw it.
    """

    number: int
    person: str
    name: str
    to: tuple[str, ...]
    what: str
    at: float
    seen: tuple[str, ...] = ()
