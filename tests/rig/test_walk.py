"""The walk through a unit, on every mode that is shipped: gentle, harmless, and back again."""

import pytest

from server.paperwork.library import read_folder
from server.places import profiles_folder
from server.rig.light_up import light_up
from server.rig.profile import Mode
from server.rig.walk import SWING, Stride, walk
from tests.rigs import PROFILES

__all__: list[str] = []

MODES = [
    pytest.param(mode, id=f"{profile.key} {mode.name}")
    for profile in (*read_folder(profiles_folder()), *PROFILES.values())
    if profile.guard is None
    for mode in profile.modes
]


def lit(mode: Mode) -> dict[str, int]:
    return {**{c.key: c.home for c in mode.controls}, **light_up(mode, 0.5, as_it_hangs=True)}


@pytest.mark.parametrize("mode", MODES)
def test_nothing_guarded_strobes_resets_or_works_a_lamp_and_all_is_back_in_the_end(mode: Mode) -> None:
    values = now = lit(mode)
    for stride in walk(mode, values):
        now = {**now, **stride.raws}
        for control in mode.controls:
            if now[control.key] == values[control.key]:
                continue
            assert control.guard is None
            assert 0 <= now[control.key] <= control.maximum
            assert not any(f.strobes or f.action for f in mode.doing(control, now)), control.key
            assert not any("Spin" in f.attribute or "Random" in f.attribute for f in mode.doing(control, now))
            if control.moves:
                assert abs(now[control.key] - values[control.key]) <= SWING * control.maximum + 1
                assert stride.moves
    assert now == values


@pytest.mark.parametrize("mode", MODES)
def test_nothing_swings_where_people_are_near(mode: Mode) -> None:
    keys = {key for stride in walk(mode, lit(mode), moving=False) for key in stride.raws}
    assert not [c.key for c in mode.controls if c.moves and c.key in keys]


def test_a_head_dims_swings_both_ways_and_shows_its_template() -> None:
    mode = PROFILES["head"].modes[0]
    strides = walk(mode, lit(mode))
    assert [stride.what for stride in strides] == ["Dimmer", "Pan", "Pan", "Tilt", "Tilt", ""]
    assert strides[1] == Stride("Pan", {"Dimmer": 32768, "Pan": 32768 - 2621}, True, 2.0)
    assert strides[-1].raws == {}


def test_colours_come_one_after_the_other_and_a_plain_dimmer_only_dims() -> None:
    wash, dimmer = PROFILES["wash"].modes[0], PROFILES["dimmer"].modes[0]
    colours = [stride for stride in walk(wash, lit(wash)) if stride.what.startswith("ColorAdd")]
    full = [[key for key, raw in stride.raws.items() if raw == 255] for stride in colours]
    assert full[1:] == [["ColorAdd_G"], ["ColorAdd_B"]]
    assert [stride.raws for stride in walk(dimmer, {"Dimmer": 128})] == [{"Dimmer": 38}, {"Dimmer": 128}]
