"""Teaching a fixture that nobody has a profile of: whose slots, what was answered, what is held up now."""

from dataclasses import dataclass

__all__ = ["Teaching"]


@dataclass(frozen=True, slots=True)
class Teaching:
    """`person` finds out what the `slots` slots from `first` of a universe do.

    answers: all that is known. look: which look of the step is up while the button is held; -1: none, and all
    are at 0. press: of the button. since, changed: when it was pressed, when the look last changed.
    until: when it ends unless it is asked again (wall-clock seconds).
    """

    person: str
    universe: int
    first: int
    slots: int
    answers: tuple[str, ...] = ()
    look: int = -1
    press: int = 0
    since: float = 0.0
    changed: float = 0.0
    until: float = 0.0

    @property
    def last(self) -> int:
        """Its last slot in the universe."""
        return self.first + self.slots - 1

    def holds(self, universe: int, slot: int) -> bool:
        """Whether that slot is one of them."""
        return universe == self.universe and self.first <= slot <= self.last
