"""What can be patched where, and what a refusal says would do."""

import re
from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.rig.check import patch_problem
from server.rig.patch import REFUSED_KINDS, Fixture, mode_of, spoken
from server.rig.profile import Profile
from server.rig.universe import SLOTS, UNIVERSE_LAST, OffLimits
from tests.rigs import PROFILES, RIG, control, mode, profile, unit

__all__: list[str] = []


def sized(footprint: int) -> Profile:
    return profile(f"size-{footprint}", mode("m", control("Dimmer", footprint)))


def placed(name: str, footprint: int, address: int, universe: int = 1) -> Fixture:
    return unit(name, f"size-{footprint}", address, universe=universe, mode="m")


def why(
    fixture: Fixture,
    *others: Fixture,
    limits: tuple[OffLimits, ...] = (),
    profiles: Mapping[str, Profile] = PROFILES,
) -> str:
    problem = patch_problem(fixture, profiles, others, limits)
    assert problem is not None
    assert problem.endswith("."), problem
    return problem


@pytest.mark.parametrize(
    ("fixture", "called"),
    [
        (unit("a", channel=21, position="Bridge 1", unit="3"), "21 (Bridge 1 unit 3)"),
        (unit("a", channel=21, position="Bridge 1"), "21 (Bridge 1)"),
        (unit("a", channel=21, unit="3"), "21 (unit 3)"),
        (unit("a", channel=0), "0"),
        (unit("a", position="Bridge 1", unit="3"), "Bridge 1 unit 3"),
        (unit("a"), "a fixture without a channel"),
    ],
)
def test_a_fixture_is_called_by_channel_and_place(fixture: Fixture, called: str) -> None:
    assert spoken(fixture) == called


def test_the_mode_of_a_fixture_is_none_where_profile_or_mode_is_unknown() -> None:
    assert mode_of(unit("a"), PROFILES) == PROFILES["dimmer"].modes[0]
    assert mode_of(unit("a", "nothing"), PROFILES) is None
    assert mode_of(unit("a", mode="nothing"), PROFILES) is None


def test_a_control_counts_down_by_its_profile_or_for_the_unit_but_not_by_both() -> None:
    plain, turned = control("Pan", 1), control("Tilt", 2, invert=True)
    assert [unit("a").turns(c) for c in (plain, turned)] == [False, True]
    assert [unit("a", inverted=("Pan", "Tilt")).turns(c) for c in (plain, turned)] == [True, False]


def test_an_unpatched_fixture_needs_a_profile_a_mode_and_a_cap() -> None:
    assert patch_problem(unit("a", address=None), PROFILES, (), ()) is None
    assert "no profile" in why(unit("a", "nothing", None))


def test_an_unknown_profile_is_refused_and_the_library_is_named() -> None:
    assert why(unit("a", "nothing")) == (
        'There is no profile "nothing". Choose one from the library or add it first.'
    )


def test_an_unknown_mode_is_refused_and_the_right_ones_are_named() -> None:
    assert why(unit("a", "head", mode="none")) == 'Head has no mode "none". It has: fine, coarse.'


@pytest.mark.parametrize("kind", sorted(REFUSED_KINDS))
def test_what_a_lighting_line_must_not_drive_is_refused_even_unpatched(kind: str) -> None:
    # ANSI E1.11-2008 (R2018), 1.5: not an appropriate protocol for hazardous applications.
    danger = {"it": profile("it", mode("m", control("Dimmer", 1)), kind=kind)}
    assert why(unit("a", "it", None, mode="m"), profiles=danger).startswith(f"It is {kind}. Leave it out")


@pytest.mark.parametrize("cap", [-0.1, 1.1, float("nan"), float("inf")])
def test_a_cap_outside_0_to_1_is_refused(cap: float) -> None:
    assert why(unit("a", cap=cap)).startswith("A level cap goes from 0 to 1, not ")


@pytest.mark.parametrize(("universe", "address"), [(1, None), (None, 1)])
def test_universe_and_address_go_together(universe: int | None, address: int | None) -> None:
    assert why(unit("a", address=address, universe=universe)).startswith("Universe and address go together")


@pytest.mark.parametrize("universe", [0, -1, UNIVERSE_LAST + 1])
def test_a_universe_that_does_not_exist_is_refused(universe: int) -> None:
    assert why(unit("a", universe=universe)) == f"Universe {universe} does not exist: 1 to 63999."


@given(st.integers(1, SLOTS), st.integers(-3, 600))
def test_a_fixture_fits_exactly_when_all_its_slots_are_1_to_512(footprint: int, address: int) -> None:
    profiles = {f"size-{footprint}": sized(footprint)}
    slots = set(range(address, address + footprint))
    problem = patch_problem(placed("a", footprint, address), profiles, (), ())
    assert (problem is None) == (slots <= set(range(1, SLOTS + 1)))
    if problem is not None:
        assert problem.endswith(f'the last start address of "m" is {513 - footprint}.')


PLACES = st.tuples(st.sampled_from([1, 2, 5, 60]), st.integers(1, 80), st.integers(1, 2))


@given(PLACES, st.lists(PLACES, max_size=6))
def test_fixtures_overlap_exactly_when_they_share_a_slot(
    new: tuple[int, int, int], there: list[tuple[int, int, int]]
) -> None:
    profiles = {f"size-{size}": sized(size) for size in (1, 2, 5, 60)}
    others = [placed(str(n), *place) for n, place in enumerate(there)]
    slots = [{(universe, first + n) for n in range(size)} for size, first, universe in (new, *there)]
    problem = patch_problem(placed("new", *new), profiles, others, ())
    assert (problem is None) == all(slots[0].isdisjoint(taken) for taken in slots[1:])
    if problem is not None:
        free = re.search(r"The next free start is (\d+)\.$", problem)
        assert free is not None, problem
        at = placed("new", new[0], int(free[1]), new[2])
        assert patch_problem(at, profiles, others, ()) is None


def test_an_overlap_names_the_other_the_shared_slots_and_a_start_that_is_free() -> None:
    profiles = {"size-10": sized(10), **PROFILES}
    others = (placed("a", 10, 20), placed("b", 10, 30), RIG["work"])
    assert why(placed("new", 10, 25), *others, profiles=profiles) == (
        "1.25-34 overlaps a fixture without a channel on slots 25-29. The next free start is 40."
    )


def test_behind_the_end_the_free_start_is_sought_from_the_beginning() -> None:
    profiles = {"size-256": sized(256), "size-300": sized(300)}
    high = placed("high", 256, 257)
    assert why(placed("new", 256, 200), high, profiles=profiles).endswith("The next free start is 1.")
    assert why(placed("new", 300, 200), high, profiles=profiles).endswith(
        "Nothing that long is free here: choose another universe."
    )


def test_slots_off_limits_are_refused_with_the_reason_and_a_start_that_would_do() -> None:
    limits = (OffLimits(1, 1, 24, "aisle light"), OffLimits(2, 1, 512, "hoists"))
    assert why(unit("a", address=24), RIG["spot"], limits=limits) == (
        "Universe 1: slots 1-24 off limits: aisle light. The next free start is 25."
    )
    assert why(unit("a", address=9, universe=2), limits=limits) == (
        "Universe 2: slots 1-512 off limits: hoists. Nothing that long is free here: choose another universe."
    )
    assert patch_problem(unit("a", address=25), PROFILES, (), limits) is None
    assert patch_problem(unit("a", address=9, universe=3), PROFILES, (), limits) is None


def test_a_fixture_does_not_overlap_itself_nor_what_is_nowhere() -> None:
    itself, nowhere = unit("a", address=1), unit("b", address=None)
    strange = unit("c", "nothing", 1)
    halfway = unit("d", address=None, universe=1)
    assert patch_problem(unit("a", "head", 1), PROFILES, (itself, nowhere, strange, halfway), ()) is None
