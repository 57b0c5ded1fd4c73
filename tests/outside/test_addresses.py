"""Addresses and footprints that standards define or others worked out."""

from itertools import combinations

import pytest

from server.rig.check import patch_problem
from server.rig.patch import Fixture
from server.rig.universe import SLOTS, absolute_address, last_start, split_absolute
from tests.rigs import control, mode, profile, unit

__all__: list[str] = []


@pytest.mark.parametrize(
    ("universe", "slot", "address"),
    [
        (1, 1, 1),
        (1, 512, 512),
        (2, 1, 513),
        (2, 279, 791),
        (3, 17, 1041),
        (12, 500, 6132),
        (63999, 512, 32767488),
    ],
)
def test_absolute_addresses(universe: int, slot: int, address: int) -> None:
    # DIN SPEC 15800 (GDTF) DMXAddress and DIN SPEC 15801 (MVR) Address: one number, 512 to a universe,
    # both from 1. Values worked out by hand and by a separate script.
    assert absolute_address(universe, slot) == address
    assert split_absolute(address) == (universe, slot)


@pytest.mark.parametrize(
    ("footprint", "start", "fit"),
    [(1, 512, 512), (3, 510, 170), (4, 509, 128), (6, 507, 85), (8, 505, 64), (16, 497, 32), (24, 489, 21),
     (37, 476, 13), (48, 465, 10), (512, 1, 1)],
)  # fmt: skip
def test_last_starts_and_how_many_fit(footprint: int, start: int, fit: int) -> None:
    # ANSI E1.11: 512 slots behind the START code. Start + footprint - 1 <= 512 (worked out by hand).
    assert last_start(footprint) == start
    profiles = {"p": profile("p", mode("m", control("Dimmer", footprint)))}
    there: list[Fixture] = []
    while not patch_problem(new := _unit(footprint, 1 + footprint * len(there)), profiles, there, ()):
        there.append(new)
    assert len(there) == fit


@pytest.mark.parametrize(
    ("footprint", "start", "valid"),
    [(37, 476, True), (37, 477, False), (13, 500, True), (14, 500, False), (24, 489, True), (1, 0, False),
     (1, 512, True), (1, 513, False)],
)  # fmt: skip
def test_starts_that_are_valid_and_those_refused(footprint: int, start: int, valid: bool) -> None:
    # As above; 0 is no address.
    profiles = {"p": profile("p", mode("m", control("Dimmer", footprint)))}
    assert (patch_problem(_unit(footprint, start), profiles, (), ()) is None) == valid


def test_the_next_free_start_behind_279_with_24_slots_is_303() -> None:
    # Start + footprint (worked out by hand).
    profiles = {"p": profile("p", mode("m", control("Dimmer", 24)))}
    refused = patch_problem(_unit(24, 302, "new"), profiles, [_unit(24, 279, "there")], ())
    assert refused is not None
    assert "on slot 302. The next free start is 303." in refused


def test_six_fixtures_of_which_two_pairs_overlap_and_one_runs_out() -> None:
    # Footprints and starts from a separate script: intersection of slot sets in one universe.
    places = {
        "A": (1, 1, 20),
        "B": (1, 20, 10),
        "C": (1, 30, 10),
        "D": (2, 500, 13),
        "E": (2, 500, 14),
        "F": (3, 1, 512),
    }
    profiles = {
        f"p{size}": profile(f"p{size}", mode("m", control("Dimmer", size))) for _, _, size in places.values()
    }
    units = {
        name: unit(name, f"p{size}", start, universe=universe, mode="m")
        for name, (universe, start, size) in places.items()
    }
    alone = {name for name, fixture in units.items() if patch_problem(fixture, profiles, (), ())}
    assert alone == {"E"}
    overlapping = {
        one + two
        for one, two in combinations(units, 2)
        if "overlaps" in (patch_problem(units[one], profiles, [units[two]], ()) or "")
    }
    assert overlapping == {"AB", "DE"}
    assert "on slot 20." in (patch_problem(units["A"], profiles, [units["B"]], ()) or "")
    assert "on slots 500-512." in (patch_problem(units["D"], profiles, [units["E"]], ()) or "")


def test_no_slot_lies_outside_1_to_512() -> None:
    assert SLOTS == 512  # ANSI E1.11; E1.31-2018, 6.1


def _unit(footprint: int, start: int, name: str = "") -> Fixture:
    return unit(name or f"{footprint} at {start}", "p", start, mode="m")
