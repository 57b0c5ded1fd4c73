"""A fixture as a rig of its own: the same values, the same slots."""

from random import Random

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from server.rig.alone import alone
from server.rig.compiled import compile_rig
from server.rig.levels import UNSET, Mixer, intensity_of, lay_slots, light_of, settle, slots_of
from server.rig.patch import Fixture
from server.rig.universe import OffLimits
from tests.engine.any_rig import any_profiles, any_rig

__all__: list[str] = []

LIMITS = (OffLimits(1, 2, 4, "a motor"), OffLimits(3, 1, 512, "another's"))


def _mixer(rows: int, fixtures: int, master: float, blackout: bool) -> Mixer:
    none = np.zeros(rows, np.bool_)
    return Mixer(master, blackout, np.full(rows, np.nan), none, np.zeros(fixtures, np.bool_))


@given(any_rig(), st.randoms(use_true_random=False), st.floats(0, 1), st.booleans())
def test_it_comes_to_the_same_as_in_its_rig(
    units: list[Fixture], chance: Random, master: float, blackout: bool
) -> None:
    rig = compile_rig(units, any_profiles(), (4,), LIMITS)
    asked = np.array([chance.random() * maximum for maximum in rig.maximum])
    by_hand = np.full((len(rig.universes), 512), UNSET, np.int16)
    whole = settle(rig, asked, _mixer(len(asked), len(units), master, blackout))
    frame = slots_of(rig, np.zeros_like(whole), by_hand)
    for index, unit in enumerate(units):
        rows = slice(*rig.span[unit.id])
        one = alone(rig, unit.id)
        assert one is not None
        raw = settle(one, asked[rows], _mixer(len(one.maximum), 1, master, blackout))
        assert np.array_equal(raw, whole[rows])
        assert light_of(one, raw)[0] == light_of(rig, whole)[index]
        assert intensity_of(one, raw)[0] == intensity_of(rig, whole)[index]
        lay_slots(one, raw, frame)
    assert np.array_equal(frame, slots_of(rig, whole, by_hand))


def test_who_shares_slots_with_another_is_none() -> None:
    def dimmer(name: str) -> Fixture:
        return Fixture(name, 1, name, "Bar", "", "dimmer", any_profiles()["dimmer"].modes[0].name, 1, 7)

    rig = compile_rig([dimmer("a"), dimmer("b")], any_profiles())
    assert alone(rig, "a") is None  # what lands there is the other's
    assert alone(rig, "b") is not None
