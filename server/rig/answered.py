"""Which unit came up when another was asked for, and which would if it were set or wired otherwise."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.rig.compiled import Compiled, compile_rig
from server.rig.levels import UNSET, Mixer, light_of, raw_in, settle, slots_of
from server.rig.light_up import light_up
from server.rig.patch import Fixture, mode_of
from server.rig.profile import Profile
from server.rig.universe import SLOTS

__all__ = ["Answer", "Asked", "Needs", "needs_of"]

SEEN = 0.1  # of full light: less is not seen from the floor; an estimate

Slots = NDArray[np.uint8]
Needs = dict[str, dict[str, bool]]  # by unit: whether it lit, by the unit that was asked for


@dataclass(frozen=True, slots=True)
class Answer:
    """One unit was asked for by its number, and these came up: none, it, another, several. Fixture ids."""

    asked: str
    lit: frozenset[str]


def needs_of(answers: Iterable[Answer]) -> Needs:
    """What an explanation must agree with. A unit not named may be overlooked, not the one asked."""
    needs: Needs = {}
    for answer in answers:
        for unit in (answer.asked, *sorted(answer.lit)):
            needs.setdefault(unit, {})[answer.asked] = unit in answer.lit
    return needs


class Asked:
    """What leaves on the line when one unit after the other is lit up, all others at home.

    Another unit, however it is set, then shows whatever lies in its own slots: that is how one mistake is
    told from another.
    """

    def __init__(self, fixtures: Iterable[Fixture], profiles: Mapping[str, Profile]) -> None:
        self.fixtures = {f.id: f for f in fixtures}
        self._profiles = profiles
        self._rig = compile_rig(self.fixtures.values(), profiles)
        self._home = self._frame({})
        self._frames: dict[str, Slots] = {}
        self._heard_by: dict[Fixture, Compiled] = {}
        self._at_home: dict[Fixture, float] = {}
        self._known: dict[tuple[Fixture, str], bool] = {}

    def lights(self, unit: Fixture, asked: str) -> bool:
        """Whether `unit`, set and wired as told here, gives light when `asked` is asked for.

        A unit that listens nowhere never does.
        """
        key = unit, asked
        if key not in self._known:
            if unit not in self._heard_by:
                self._heard_by[unit] = compile_rig((unit,), self._profiles)
                self._at_home[unit] = self._light(unit, self._home)
            self._known[key] = self._light(unit, self._lit(asked)) >= self._at_home[unit] + SEEN
        return self._known[key]

    def _lit(self, asked: str) -> Slots:
        if asked not in self._frames:
            fixture = self.fixtures[asked]
            mode = mode_of(fixture, self._profiles)
            values = light_up(mode, 1.0, as_it_hangs=True) if mode else {}
            self._frames[asked] = self._frame({(asked, key): raw for key, raw in values.items()})
        return self._frames[asked]

    def _frame(self, values: Mapping[tuple[str, str], int]) -> Slots:
        rig, asked = self._rig, self._rig.home.copy()
        for name, value in values.items():
            asked[rig.row[name]] = value
        rows, units = len(rig.names), len(rig.span)
        still, none = np.full(rows, np.nan), np.zeros(rows, np.bool_)
        raw = settle(rig, asked, Mixer(1.0, False, still, none, np.zeros(units, np.bool_)))
        return slots_of(rig, raw, np.full((len(rig.universes), SLOTS), UNSET, np.int16))

    def _light(self, unit: Fixture, frame: Slots) -> float:
        one = self._heard_by[unit]
        heard = np.zeros((len(one.universes), SLOTS), np.uint8)
        for at, universe in enumerate(one.universes):
            index = self._rig.universe_index(universe)
            if index is not None:
                heard[at] = frame[index]
        raw = raw_in(one, heard)
        settled = np.where(np.isnan(raw), one.maximum, raw).astype(np.int64)  # a virtual one hides nothing
        light = light_of(one, settled)
        return float(light[0]) if len(light) and one.universes else 0.0
