"""What a console sent on each slot of ours just before it became ours."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.stage.near import called
from server.stage.state import State

__all__ = ["Borrowed", "Loan", "whose"]

Bools = NDArray[np.bool_]
Octets = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Loan:
    """One slot, 1-512, that is ours. before: what the console sent there. since: by the clock handed in.

    fixture, by: whose it is, and in whose hand; "" where it is nobody's.
    """

    slot: int
    before: int
    since: float
    fixture: str
    by: str


class Borrowed:
    """By universe: what is borrowed now, and how many slots have been given back."""

    def __init__(self) -> None:
        self.returned: dict[int, int] = {}
        self._loans: dict[int, dict[int, Loan]] = {}
        self._ours: dict[int, Bools] = {}
        self._sent: dict[int, Octets] = {}

    def look(
        self,
        universe: int,
        ours: Bools | None,
        theirs: Octets | None,
        whose: Callable[[int], tuple[str, str]],
        now: float,
    ) -> None:
        """Be called ten times a second.

        ours: (512,) which slots show what we send where the console is heard; None: none do. theirs: (512,)
        what it sends; None: it is not heard, and what is borrowed stays so. whose: fixture and person of a
        slot.
        """
        if theirs is None:
            return
        before, self._sent[universe] = self._sent.get(universe, theirs), theirs
        mine = np.zeros(512, np.bool_) if ours is None else ours
        known = self._ours.get(universe)
        if known is not None and np.array_equal(known, mine):
            return
        self._ours[universe] = mine.copy()
        loans = self._loans.setdefault(universe, {})
        for slot in [slot for slot in loans if not mine[slot - 1]]:
            del loans[slot]
            self.returned[universe] = self.returned.get(universe, 0) + 1
        for at in np.flatnonzero(mine).tolist():
            if at + 1 not in loans:
                loans[at + 1] = Loan(at + 1, int(before[at]), now, *whose(at + 1))

    def loans(self, universe: int) -> list[Loan]:
        """What is borrowed there now, by slot."""
        return [loan for _, loan in sorted(self._loans.get(universe, {}).items())]


def whose(state: State, universe: int, fixture: str, slot: int) -> tuple[str, str]:
    """Whose that slot is, as `Loan` has it. fixture: that it belongs to, or ""."""
    if not fixture:
        level = state.slots.get(universe, {}).get(slot)
        return "", called(state, level.person) if level else ""
    holder = state.holders.get(fixture)
    return fixture, called(state, holder) if holder else ""
