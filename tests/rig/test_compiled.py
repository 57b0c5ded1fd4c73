"""A rig laid out flat keeps every control, its flags, and which slots are whose."""

import numpy as np
from numpy.typing import NDArray

from server.rig.compiled import Compiled, compile_rig
from server.rig.levels import light_of
from server.rig.profile import Function
from server.rig.universe import OffLimits
from tests.rigs import PROFILES, RIG, control, function, mode, profile, rig_of, unit

__all__: list[str] = []


def named(rig: Compiled, mask: NDArray[np.bool_]) -> set[str]:
    """Which controls a flag is set for, as "fixture key"."""
    return {" ".join(rig.names[row]) for row in np.flatnonzero(mask)}


def test_every_control_has_a_row_and_those_of_a_fixture_lie_together() -> None:
    rig = rig_of()
    assert len(rig.names) == sum(len(PROFILES[f.profile].modes[0].controls) for f in RIG.values())
    assert rig.names == tuple(
        (f.id, c.key) for f in RIG.values() for c in PROFILES[f.profile].modes[0].controls
    )
    for name, (first, last) in rig.span.items():
        assert {fixture for fixture, _ in rig.names[first:last]} == {name}
    assert [rig.names[at] for at in rig.row.values()] == list(rig.row)
    assert rig.starts.tolist() == [first for first, _ in rig.span.values()]


def test_universes_are_those_patched_and_those_asked_for() -> None:
    rig = compile_rig(RIG.values(), PROFILES, also=(7, 2))
    assert rig.universes == (1, 2, 7)
    assert [rig.universe_index(n) for n in (1, 7, 3)] == [0, 2, None]
    assert rig.owned.shape == (3, 512)


def test_an_empty_rig_is_laid_out_too() -> None:
    rig = compile_rig((), {})
    assert (rig.names, rig.universes, rig.owned.shape) == ((), (), (0, 512))
    assert rig.level_rest.tolist() == rig.colour_rest.tolist() == []


def test_fixtures_of_unknown_profiles_have_no_rows_and_unpatched_ones_no_slots() -> None:
    rig = rig_of(unit("lost", "nothing"), unit("lost too", mode="nothing"), unit("shelf", "head", None))
    assert list(rig.span) == ["shelf"]
    assert len(rig.names) == 7
    assert len(rig.slot_at) == 0
    assert rig.universes == ()


def test_a_fixture_with_half_an_address_has_no_slots() -> None:
    assert len(rig_of(unit("half", address=None, universe=1)).slot_at) == 0


def test_every_slot_belongs_to_the_control_that_the_profile_puts_there() -> None:
    rig = rig_of()
    expected = np.full((2, 512), -1)
    for fixture in RIG.values():
        assert fixture.universe is not None
        assert fixture.address is not None
        for part in PROFILES[fixture.profile].modes[0].controls:
            for offset in part.offsets:
                slot = fixture.address + offset - 1
                expected[rig.universes.index(fixture.universe), slot - 1] = rig.row[fixture.id, part.key]
    assert np.array_equal(rig.owned, expected)


def test_slots_off_limits_are_pinned_in_the_universes_that_are_laid_out() -> None:
    limits = (
        OffLimits(1, 500, 512, "aisle light"),
        OffLimits(2, 1, 1, "exit"),
        OffLimits(9, 1, 512, "hoists"),
    )
    rig = compile_rig(RIG.values(), PROFILES, off_limits=limits)
    pinned = {(rig.universes[at], int(slot) + 1) for at, slot in np.argwhere(rig.pinned)}
    assert pinned == {(2, 1), *((1, slot) for slot in range(500, 513))}
    assert not rig_of().pinned.any()


def test_the_most_significant_byte_lands_in_the_first_slot_named() -> None:
    odd = {"p": profile("p", mode("m", control("Pan", 3, 1, 4), control("Tilt", 2)))}
    rig = compile_rig([unit("a", "p", 101, mode="m")], odd)
    landed = dict(zip((rig.slot_at + 1).tolist(), rig.slot_shift.tolist(), strict=True))
    assert landed == {103: 16, 101: 8, 104: 0, 102: 0}


def test_the_master_reaches_every_intensity_but_those_of_work_light() -> None:
    rig = rig_of()
    every = {"spot Dimmer", "aisle Dimmer", "head Dimmer", "wash Dimmer", "pump Dimmer", "batten Dimmer"}
    assert named(rig, rig.mastered) == every
    cells = {"batten Dimmer/A", "batten Dimmer/B"}
    assert named(rig, rig.dark) == (every | cells) - {"pump Dimmer"}  # that one is guarded
    assert named(rig, rig.intensity) == every | cells | {"work Dimmer"}


def test_cells_without_an_intensity_above_them_follow_the_master_themselves() -> None:
    cells = mode("m", control("Dimmer", 1, cell="A"), control("Dimmer", 2, cell="B"))
    rig = compile_rig([unit("a", "p", mode="m")], {"p": profile("p", cells)})
    assert named(rig, rig.mastered) == named(rig, rig.shows) == {"a Dimmer/A", "a Dimmer/B"}


def test_cells_under_an_intensity_that_the_master_leaves_alone_follow_it_themselves() -> None:
    above = control("Dimmer", 1, mastered=False)
    rig = compile_rig(
        [unit("a", "p", mode="m")], {"p": profile("p", mode("m", above, control("Dimmer", 2, cell="A")))}
    )
    assert named(rig, rig.mastered) == {"a Dimmer/A"}
    assert named(rig, rig.shows) == {"a Dimmer"}


def test_a_virtual_intensity_scales_the_emitters_of_its_own_fixture_only() -> None:
    rig = rig_of(unit("x", "wash", 1), unit("y", "wash", 11))
    scaled = {rig.names[at]: rig.names[by] for at, by in enumerate(rig.scaler) if by >= 0}
    assert scaled == {(f, f"ColorAdd_{c}"): (f, "Dimmer") for f in "xy" for c in "RGB"}


def test_guarded_are_guarded_controls_and_all_controls_of_guarded_units() -> None:
    rig = rig_of()
    assert named(rig, rig.guarded) == {"head Fans", "fog Fog1", "pump Dimmer"}
    assert rig.safe[rig.row["head", "Fans"]] == 90
    assert rig.safe[rig.row["pump", "Dimmer"]] == 0


def test_flags_of_the_profile_and_the_unit_come_along() -> None:
    rig = rig_of(unit("a", "head", 1, cap=0.5, inverted=("Pan",)))
    assert named(rig, rig.snap) == {"a Shutter1", "a Gobo1"}
    assert named(rig, rig.inverted) == {"a Pan"}
    assert [(rig.names[row], raw) for row, raw in zip(rig.capped, rig.limit, strict=True)] == [
        (("a", "Dimmer"), 0.5 * rig.maximum[rig.row["a", "Dimmer"]])
    ]
    assert rig.home[rig.row["a", "Pan"]] == 32768
    assert rig.maximum[rig.row["a", "Pan"]] == 65535


def test_the_strongest_of_nothing_counts_as_full() -> None:
    rig = rig_of(unit("a", "wash", 1), unit("b", "head", 11))
    rest = dict(zip(rig.names, zip(rig.level_rest, rig.colour_rest, strict=True), strict=True))
    assert rest["a", "Dimmer"] == (1.0, 0.0)  # its virtual intensity is seen in the colours it scales
    assert rest["b", "Pan"] == (0.0, 1.0)  # it has an intensity, but no emitters


def test_a_shutter_is_open_as_far_as_its_function_says_and_while_it_strobes() -> None:
    inward = (function("Shutter1", 0, 99), function("Shutter1", 100, 199, physical=(3.0, -1.0)))
    gap = control("Shutter1", 1, functions=(*inward, function("Shutter1Strobe", 200, 254)))
    rig = compile_rig([unit("a", "p", mode="m")], {"p": profile("p", mode("m", gap))})
    assert rig.shutters.tolist() == [0]
    assert rig.openness[0, [0, 99, 100, 199, 230, 255]].tolist() == [0.0, 1.0, 1.0, 0.0, 1.0, 1.0]


def test_units_of_one_mode_share_the_table_of_their_shutter() -> None:
    closed = control("Shutter1", 1, functions=(function("Shutter1", 0, 255, physical=(0.0, 0.0)),))
    profiles = {"p": profile("p", mode("m", control("Shutter1", 1))), "q": profile("q", mode("m", closed))}
    units = [unit("a", "p", 1, mode="m"), unit("b", "q", 2, mode="m"), unit("c", "p", 3, mode="m")]
    rig = compile_rig(units, profiles)
    assert rig.opens.tolist() == [0, 1, 0]
    assert rig.openness.shape == (2, 256)
    raw = np.full(3, 255)
    assert light_of(rig, raw).tolist() == [rig.openness[0, 255], 0.0, rig.openness[0, 255]]


def test_a_wide_shutter_is_read_by_its_coarse_byte() -> None:
    wide = control("Shutter1", 1, 2, functions=(Function("Shutter1", "S", 0, 65535),))
    rig = compile_rig([unit("a", "p", mode="m")], {"p": profile("p", mode("m", wide))})
    assert rig.openness[0, 128] == 0x8000 / 0xFFFF
