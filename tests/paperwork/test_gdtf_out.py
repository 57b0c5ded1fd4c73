"""Every profile that comes with focuscall goes out as a GDTF file that reads back as the same slots."""

import pytest

from server.paperwork.gdtf import read_gdtf
from server.paperwork.gdtf_out import gdtf_name, write_gdtf
from server.paperwork.library import read_folder
from server.places import profiles_folder
from server.rig.profile import Mode, Profile

__all__: list[str] = []

each_profile = pytest.mark.parametrize("profile", read_folder(profiles_folder()), ids=lambda p: p.key)


def slots(mode: Mode) -> dict[tuple[int, ...], tuple[str, int, int]]:
    """What each control with slots is: its attribute, default and start address."""
    return {(c.start, *c.offsets): (c.attribute, c.default, c.start) for c in mode.controls if c.offsets}


@each_profile
def test_it_reads_back_with_the_same_slots_and_functions(profile: Profile) -> None:
    made, problems = read_gdtf(write_gdtf(profile))
    assert made is not None, problems
    assert (made.name, made.maker, [m.name for m in made.modes]) == (
        profile.name, profile.maker, [m.name for m in profile.modes],
    )  # fmt: skip
    for mine, theirs in zip(profile.modes, made.modes, strict=True):
        assert (mine.footprints, slots(mine)) == (theirs.footprints, slots(theirs)), mine.name
        if not any(f.action for c in mine.controls for f in c.functions):
            edges = [
                {
                    (c.offsets, f.first, f.last, f.physical, f.unit)
                    for c in m.controls
                    for f in c.functions
                    if c.offsets
                }
                for m in (mine, theirs)
            ]
            assert edges[0] == edges[1], mine.name
        assert {len(f) for f in mine.multiply.values()} == {len(f) for f in theirs.multiply.values()}


def test_the_same_profile_is_the_same_file() -> None:
    (first, *_) = read_folder(profiles_folder())
    assert write_gdtf(first) == write_gdtf(first)
    assert "@" in gdtf_name(first)
    assert "/" not in gdtf_name(first)
