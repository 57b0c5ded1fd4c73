"""Further start addresses: patched, refused, driven and told like the first."""

from dataclasses import replace

import numpy as np
import pytest

from server.rig.check import patch_problem
from server.rig.compiled import compile_rig
from server.rig.patch import Fixture, spans
from server.rig.place import Start
from server.rig.profile import Mode
from server.stage.commands import ChangePatch, SetSlot
from tests.rigs import control, done, profile, refused, stage_with, unit

__all__: list[str] = []

MODE = Mode("two", 2, (control("Dimmer", 1, 2), control("Pan", 1, 2, start=2)), further={2: 2})
TWO = profile("two", MODE)
PROFILES = {"two": TWO}


def both(name: str = "u", address: int | None = 1, *starts: Start) -> Fixture:
    return replace(unit(name, "two", address), mode="two", starts=starts)


def test_each_start_address_has_its_own_slots() -> None:
    rig = compile_rig([both("u", 5, Start(2, 3, 101))], PROFILES)
    assert rig.universes == (1, 3)
    assert [(s.universe, s.first, s.last) for s in spans(both("u", 5, Start(2, 3, 101)), MODE)] == [
        (1, 5, 6),
        (3, 101, 102),
    ]
    owned = {rig.names[row][1]: np.argwhere(rig.owned == row).tolist() for row in range(2)}
    assert owned == {"Dimmer": [[0, 4], [0, 5]], "Pan": [[1, 100], [1, 101]]}


def test_what_is_not_patched_of_a_unit_leaves_nowhere() -> None:
    assert compile_rig([both("u", 5)], PROFILES).slot_at.tolist() == [4, 5]
    assert compile_rig([both("u", None, Start(2, 1, 1))], PROFILES).slot_at.tolist() == [0, 1]


@pytest.mark.parametrize(
    ("fixture", "why"),
    [
        (both("u", 1, Start(3, 1, 9)), '"two" has no start address 3.'),
        (both("u", 1, Start(2, 1, 9), Start(2, 2, 9)), '"two" has no start address 2.'),
        (both("u", 1, Start(2, 1, 512)), "the last start address of"),
        (both("u", 1, Start(2, 0, 1)), "Universe 0 does not exist"),
        (both("u", 1, Start(2, 1, 2)), "Two start addresses of the unit overlap on slot 2."),
        (both("u", 1, Start(2, 1, 40)), "overlaps"),
    ],
)
def test_a_start_address_that_cannot_be_is_refused(fixture: Fixture, why: str) -> None:
    problem = patch_problem(fixture, PROFILES, [both("other", 41, Start(2, 2, 1))], ())
    assert problem is not None
    assert why in problem


def test_a_first_address_is_refused_where_another_unit_has_its_second() -> None:
    problem = patch_problem(both("u", 7), PROFILES, [both("other", 41, Start(2, 1, 8))], ())
    assert problem is not None
    assert "overlaps" in problem
    assert "The next free start is 10." in problem


def test_a_slot_of_a_second_start_address_drives_the_control_behind_it() -> None:
    stage = stage_with()
    done(stage, ChangePatch("ann", (both("u", 100, Start(2, 7, 11)),), (), (TWO,)))
    happened = done(stage, SetSlot("mo", 7, 12, 3))
    assert stage.state.hand["u"]["Pan"] & 0xFF == 3
    assert happened
    owner = stage.state.slot_owner(7, 11)
    assert owner is not None
    assert owner[0].id == "u"
    assert stage.state.slot_owner(7, 13) is None


def test_off_limits_hold_for_every_start_address() -> None:
    fixture = both("u", 100, Start(2, 9, 11))
    assert "off limits" in refused(stage_with(), ChangePatch("ann", (fixture,), (), (TWO,))).why
