"""What holds for every profile that comes with focuscall."""

import re
from collections.abc import Iterator

import pytest

from server.paperwork.library import read_folder
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.places import profiles_folder
from server.rig.light_up import light_up
from server.rig.profile import Control, Function, Mode, Profile
from server.rig.values import physical_from_raw

__all__: list[str] = []

SHIPPED = read_folder(profiles_folder())
MODES = [pytest.param(p, m, id=f"{p.key}: {m.name}") for p in SHIPPED for m in p.modes]
each_mode = pytest.mark.parametrize(("profile", "mode"), MODES)
each_profile = pytest.mark.parametrize("profile", SHIPPED, ids=lambda p: p.key)


def functions(mode: Mode) -> Iterator[tuple[Control, Function]]:
    return ((c, f) for c in mode.controls for f in c.functions)


def test_a_person_finds_what_usually_hangs_in_a_rig() -> None:
    assert len(SHIPPED) >= 30
    assert len({p.name for p in SHIPPED}) == len(SHIPPED)
    kinds = {p.kind for p in SHIPPED}
    assert kinds == {"light", "dimmer", "relay", "atmosphere", "other"}


@each_profile
def test_the_file_carries_the_name_of_its_key(profile: Profile) -> None:
    assert (profiles_folder() / f"{profile.key}.json").is_file()
    assert profile.maker == "Generic"


@each_profile
def test_written_out_and_read_again_it_is_the_same(profile: Profile) -> None:
    assert profile_from_json(profile_to_json(profile)) == profile


@each_profile
def test_its_words_are_the_trades(profile: Profile) -> None:
    text = str(profile_to_json(profile))
    said = set(re.findall(r"'name': '([^']*)'", text)) | {profile.name, profile.notes}
    # A template is called so; "gobo" is left to the attribute names of GDTF.
    assert not [words for words in said if re.search(r"gobo|safe|strob.*safe|dead", words, re.IGNORECASE)]
    if any(e.xyY for e in profile.emitters.values()):
        assert "typical, not measured" in profile.notes


@each_profile
def test_what_can_hurt_by_itself_is_guarded(profile: Profile) -> None:
    attributes = {c.attribute for mode in profile.modes for c in mode.controls}
    if profile.kind in ("atmosphere", "relay") or attributes & {"Fog1", "Haze1", "Fan1"}:
        assert profile.guard is not None
        assert all(c.guard == profile.guard and c.home == 0 for m in profile.modes for c in m.controls)


@each_mode
def test_lamp_and_reset_are_held_actions_behind_a_guard(profile: Profile, mode: Mode) -> None:
    for control, function in functions(mode):
        named = function.attribute.endswith("Reset") or function.attribute == "LampControl"
        assert (function.action is not None) == named
        if function.action:
            assert control.guard is not None
            assert function.action.hold_s >= 3
            assert re.match(r"[A-Z].*\.$", function.action.words)


@each_mode
def test_every_rotation_has_a_band_where_it_stands_still(profile: Profile, mode: Mode) -> None:
    for control, function in functions(mode):
        if function.unit == "AngularSpeed":
            still = [r for r in function.ranges if r.physical == (0, 0)]
            assert still, (control.key, function.name)
            assert still[0].name == "Stop"


@each_mode
def test_home_is_open_and_steady(profile: Profile, mode: Mode) -> None:
    for control in mode.controls:
        (function, *_) = control.functions_at(control.home)
        if re.fullmatch(r"Shutter\d", control.attribute):
            assert physical_from_raw(function, control.home) == 1, control.key
        if control.attribute.startswith("ColorSub_"):
            assert physical_from_raw(function, control.home) == 0, control.key
        for word, name in (("Gobo", "Open"), ("Color1", "Open"), ("Prism", "Out"), ("Frost", "Out")):
            if control.attribute.startswith(word) and not control.attribute.endswith("Pos"):
                at_home = [r.name for r in function.ranges if r.first <= control.home <= r.last]
                assert at_home == [name], control.key


@each_mode
def test_pan_and_tilt_are_at_home_in_the_middle(profile: Profile, mode: Mode) -> None:
    for control in mode.controls:
        if control.attribute in ("Pan", "Tilt"):
            assert control.home == (control.maximum + 1) // 2


@each_mode
def test_master_and_blackout_reach_every_light(profile: Profile, mode: Mode) -> None:
    if any(c.attribute.startswith("ColorAdd_") for c in mode.controls):
        assert list(mode.intensities), "a mode that makes light needs an intensity"
    if profile.kind == "relay":
        assert not list(mode.intensities), "master must not switch power"


@each_mode
@pytest.mark.parametrize("level", [0.0, 0.4, 1.0])
def test_lit_up_every_intensity_is_at_the_level_and_nothing_strobes(
    profile: Profile, mode: Mode, level: float
) -> None:
    values = light_up(mode, level, as_it_hangs=False)
    for control in mode.controls:
        if control.guard is not None:
            assert control.key not in values
            continue
        assert not any(f.strobes or f.action for f in control.functions_at(values[control.key]))
        if control.mastered:
            assert values[control.key] == int(level * control.maximum + 0.5)
        if control.attribute == "ColorAdd_UV":
            assert values[control.key] == 0


@each_mode
def test_lit_up_as_it_hangs_it_is_not_told_to_move(profile: Profile, mode: Mode) -> None:
    moving = {c.key for c in mode.controls if c.attribute in ("Pan", "Tilt")}
    assert moving == light_up(mode, 1, as_it_hangs=False).keys() - light_up(mode, 1, as_it_hangs=True).keys()
