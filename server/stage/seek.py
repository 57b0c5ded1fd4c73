"""Looking for the light one stands under: how far somebody has come."""

from dataclasses import dataclass

__all__ = ["Seek"]


@dataclass(frozen=True, slots=True)
class Seek:
    """`person` stands under a light that nobody knows, and halves the rig by yes and no.

    left: fixtures it may still be. breathing: those whose light rises and falls now, in that person's hand.
    outside: fixtures left out, for others have them or they give no light.
    """

    person: str
    left: tuple[str, ...]
    breathing: tuple[str, ...]
    answered: int = 0
    outside: tuple[str, ...] = ()
