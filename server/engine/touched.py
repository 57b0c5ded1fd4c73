"""Which fixtures alone were asked for anything since the last frame, so that it need not resolve the rest."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from server.rig.alone import alone
from server.rig.compiled import Compiled, Ints
from server.rig.universe import SLOTS
from server.stage.events import (
    Changed,
    ChangeEnded,
    Event,
    FixturePut,
    FixtureRemoved,
    LevelsSet,
    ProfileAdded,
    PutBack,
)

__all__ = ["One", "Touched", "reshapes"]

RESHAPES = (FixturePut, FixtureRemoved, ProfileAdded)
NOTES = (Changed, ChangeEnded)  # what is written down drives nothing
ROWS = 1024  # the whole of so many rows takes about as long as one fixture alone
MOST_KEPT = 256  # fixtures laid out, of some 6 kB each


@dataclass(frozen=True, slots=True)
class One:
    """A fixture as a rig of its own. index: among the fixtures of the whole. rows: its rows there.

    shining: those of its own rows that its light depends on. universes: where it lies in the frame.
    """

    index: int
    rows: slice
    rig: Compiled
    shining: Ints
    universes: tuple[int, ...]


class Touched:
    """What differs in a rig since the last frame: some fixtures, or whatever it may be."""

    def __init__(self, rig: Compiled) -> None:
        self._rig = rig
        self._index = {fixture: index for index, fixture in enumerate(rig.span)}
        self._ones = dict[str, One | None]()
        self._fixtures = set[str]()
        self._all = True

    def everything(self) -> None:
        """Anything may differ."""
        self._all = True

    def took(self, happened: Sequence[Event]) -> None:
        """Take down what these events, already followed, make differ."""
        for event in happened:
            if isinstance(event, LevelsSet):
                self._fixtures.add(event.fixture)
            elif not isinstance(event, NOTES):
                self._all = True

    def taken(self) -> list[One] | None:
        """The fixtures that differ since this was asked last; None: the rig has to be resolved whole."""
        names, whole = self._fixtures & self._index.keys(), self._all
        self._fixtures, self._all = set(), False
        if whole or len(names) > 1 + len(self._rig.names) // ROWS:
            return None
        ones = [self._one(name) for name in names]
        known = [one for one in ones if one is not None]
        return known if len(known) == len(ones) else None

    def _one(self, fixture: str) -> One | None:
        if fixture not in self._ones:
            if len(self._ones) >= MOST_KEPT:
                self._ones.clear()
            self._ones[fixture] = self._lay_out(fixture)
        return self._ones[fixture]

    def _lay_out(self, fixture: str) -> One | None:
        rig = alone(self._rig, fixture)
        if rig is None:
            return None
        shines = rig.intensity | rig.shows | rig.emits | rig.filters
        shines[rig.shutters] = True
        universes = tuple(np.unique(rig.slot_at // SLOTS).tolist())
        rows = slice(*self._rig.span[fixture])
        return One(self._index[fixture], rows, rig, np.flatnonzero(shines), universes)


def reshapes(event: Event) -> bool:
    """Whether the rig has to be laid out again after it."""
    if isinstance(event, PutBack):
        return bool(event.before.fixtures or event.before.profiles)
    return isinstance(event, RESHAPES)
