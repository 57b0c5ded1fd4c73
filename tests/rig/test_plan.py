"""Proposed addresses: nobody's slots twice, nothing over two universes, in order, the same each time."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.rig.check import Patch
from server.rig.patch import Fixture, mode_of
from server.rig.place import Start
from server.rig.plan import PlanRules, by_hanging, plan
from server.rig.profile import Mode
from server.rig.universe import OffLimits, Reserved, absolute_address
from tests.rigs import control, mode, profile, unit

__all__: list[str] = []

SIZES = (1, 3, 10, 37, 200)
PROFILES_OF = {f"s{n}": profile(f"s{n}", mode("m", control("Dimmer", n))) for n in SIZES}
KEPT = (OffLimits(1, 20, 60, "aisle"), Reserved(2, 1, 100, "visitors"))


def bare(name: str, size: int = 10, position: str = "LX 1") -> Fixture:
    return unit(name, f"s{size}", None, mode="m", position=position)


def placed(*wanted: Fixture, start: tuple[int, int] = (1, 1), **rules: int) -> list[tuple[int, int]]:
    found, left = plan(wanted, (), PROFILES_OF, (), start, PlanRules(**rules))  # type: ignore[arg-type]
    assert not left
    return [(f.universe or 0, f.address or 0) for f in found]


def test_they_lie_one_behind_the_other_from_the_start_on() -> None:
    assert placed(bare("a"), bare("b", 3), bare("c")) == [(1, 1), (1, 11), (1, 14)]
    assert placed(bare("a"), bare("b"), start=(3, 500), together=False) == [(3, 500), (4, 1)]


def test_a_gap_stays_free_behind_each() -> None:
    assert placed(bare("a"), bare("b", 3), bare("c"), gap=2) == [(1, 1), (1, 13), (1, 18)]


def test_a_position_that_fits_into_one_universe_is_not_spread_over_two() -> None:
    first, second = bare("a", 200, "LX 1"), [bare(n, 200, "LX 2") for n in "bc"]
    assert placed(first, *second) == [(1, 1), (2, 1), (2, 201)]
    assert placed(first, *second, together=False) == [(1, 1), (1, 201), (2, 1)]


def test_a_position_too_long_for_one_universe_begins_where_there_is_room() -> None:
    assert placed(*(bare(n, 200) for n in "abc"), start=(1, 100)) == [(1, 100), (1, 300), (2, 1)]


def test_what_hangs_together_is_placed_together_in_the_order_of_the_positions() -> None:
    wanted = bare("a", 10, "LX 2"), bare("b", 10, "LX 1"), bare("c", 10, "LX 2")
    found, _ = plan(wanted, (), PROFILES_OF, (), (1, 1))
    assert [(f.id, f.address) for f in found] == [("a", 1), ("c", 11), ("b", 21)]


def test_what_is_patched_stays_and_what_is_kept_is_left_free() -> None:
    there = [unit("there", "s10", 5, mode="m")]
    found, _ = plan([bare("a", 3), bare("b", 10), bare("c", 10)], there, PROFILES_OF, KEPT, (1, 1))
    assert [(f.universe, f.address) for f in found] == [(1, 1), (1, 61), (1, 71)]


def test_an_unknown_mode_and_no_room_are_left_out() -> None:
    last = (63999, 500)
    found, left = plan([bare("a"), unit("x", "none", None), bare("b"), bare("c")], (), PROFILES_OF, (), last)
    assert [f.id for f in found] == ["a"]
    assert [f.id for f in left] == ["b", "c", "x"]
    assert plan([bare("d", 1, "LX 9")], (), PROFILES_OF, KEPT, (64000, 1)) == ([], [bare("d", 1, "LX 9")])


def test_units_are_counted_as_people_count_them() -> None:
    names = ["10", "2", "3A", "3", "x", ""]
    hung = [unit(n, address=None, unit=n, position="B") for n in names]
    hung.append(unit("first", address=None, unit="1", position="A"))
    assert [f.id for f in by_hanging(hung)] == ["", "2", "3", "3A", "10", "x", "first"]


ROUGH = st.lists(st.tuples(st.sampled_from(SIZES), st.sampled_from(["LX 1", "LX 2", ""])), max_size=40)
THERE = st.lists(st.tuples(st.sampled_from(SIZES), st.integers(1, 512), st.integers(1, 3)), max_size=8)


@given(ROUGH, THERE, st.tuples(st.integers(1, 3), st.integers(1, 512)), st.integers(0, 5), st.booleans())
def test_whatever_is_asked_nothing_overlaps_straddles_or_leaves_its_order(
    rough: list[tuple[int, str]],
    there: list[tuple[int, int, int]],
    start: tuple[int, int],
    gap: int,
    together: bool,
) -> None:
    patch = Patch((), PROFILES_OF, (KEPT[0],), (KEPT[1],))
    others = []
    for at, (size, address, universe) in enumerate(there):
        other = unit(f"there {at}", f"s{size}", address, universe=universe, mode="m")
        if not patch.problem(other):
            others.append(other)
            patch.add(other)
    wanted = [bare(str(at), size, position) for at, (size, position) in enumerate(rough)]
    rules = PlanRules(gap, together)
    found, left = plan(wanted, others, PROFILES_OF, KEPT, start, rules)
    assert not left
    assert (found, left) == plan(wanted, others, PROFILES_OF, KEPT, start, rules)
    for fixture in found:
        assert patch.findings(fixture) == []  # no overlap, no straddle, nothing off limits or reserved
        patch.add(fixture)
    places = [absolute_address(f.universe or 0, f.address or 0) for f in found]
    for one, other in pairwise(found):
        if one.universe == other.universe:
            assert (one.address or 0) + _size(one) + gap <= (other.address or 0)
    assert places == sorted(set(places))
    assert all(place >= absolute_address(*start) for place in places)
    positions = [f.position for f in found]
    assert positions == sorted(positions, key=list(dict.fromkeys(p for _, p in rough)).index)
    for position in set(positions):
        ids = [int(f.id) for f in found if f.position == position]
        assert ids == sorted(ids)


def _size(fixture: Fixture) -> int:
    found = mode_of(fixture, PROFILES_OF)
    assert found is not None
    return found.footprint


@pytest.mark.parametrize("footprint", [1, 10])
def test_a_whole_universe_is_used_to_its_last_slot(footprint: int) -> None:
    wanted = [bare(str(n), footprint) for n in range(512 // footprint)]
    assert {universe for universe, _ in placed(*wanted)} == {1}
    assert placed(*wanted)[-1] == (1, 1 + footprint * (len(wanted) - 1))


def test_a_unit_of_several_start_addresses_gets_them_one_behind_the_other() -> None:
    two = profile(
        "two", Mode("m", 2, (control("Dimmer", 1, 2), control("Pan", 1, 2, start=2)), further={2: 3})
    )
    wanted = [unit(n, "two", None, mode="m") for n in "ab"]
    found, left = plan(wanted, (), {"two": two}, (), (1, 506))
    assert not left
    assert [(f.universe, f.address, f.starts) for f in found] == [
        (2, 1, (Start(2, 2, 3),)),
        (2, 6, (Start(2, 2, 8),)),
    ]
