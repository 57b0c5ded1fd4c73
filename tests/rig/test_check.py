"""What is found about a patch, what would do instead, and which of it forbids it."""

from dataclasses import replace

import pytest

from server.rig.check import Finding, Patch
from server.rig.patch import Fixture
from server.rig.universe import OffLimits, Reserved
from tests.rigs import PROFILES, RIG, control, mode, profile, unit

__all__: list[str] = []


def found(fixture: Fixture, *others: Fixture, even_so: bool = False) -> list[Finding]:
    patch = Patch(others, PROFILES, (OffLimits(9, 1, 24, "hoists"),), (Reserved(1, 101, 200, "visitors"),))
    return patch.findings(fixture, even_so)


@pytest.mark.parametrize(
    ("fixture", "kind", "instead"),
    [
        (unit("a", "dimer"), "profile", {"profile": "dimmer"}),
        (unit("a", "quite else"), "profile", {}),
        (unit("a", "head", mode="fin"), "mode", {"mode": "fine"}),
        (unit("a", "wash", mode="quite else"), "mode", {"mode": "three"}),
        (unit("a", address=100, cap=2.0), "cap", {}),
        (unit("a", universe=None), "halves", {}),
        (unit("a", universe=0), "universe", {}),
        (unit("a", "head", 504), "end", {"address": 21}),
        (unit("a", address=24, universe=9), "off_limits", {"address": 25}),
        (unit("a", "head", 11), "twin", {"address": 21}),
        (unit("a", "head", 12), "overlap", {"address": 21}),
    ],
)
def test_what_forbids_it_is_found_with_fields_that_would_do(
    fixture: Fixture, kind: str, instead: dict[str, str | int]
) -> None:
    (one,) = found(fixture, unit("low", "head", 1), unit("there", "head", 11))
    assert (one.kind, one.refused, one.instead) == (kind, True, instead)
    if instead and kind not in {"profile", "mode"}:
        fixed = replace(fixture, **instead)  # type: ignore[arg-type]
        assert found(fixed, unit("low", "head", 1), unit("there", "head", 11)) == []


def test_two_on_one_address_in_one_mode_are_told_to_be_one_fixture() -> None:
    (one,) = found(unit("a", channel=7), unit("b", channel=8, position="LX 1", unit="3"))
    assert one.why == (
        "8 (LX 1 unit 3) listens at 1.1 in the same mode: two that always do the same are one fixture here; "
        'name both units in it, such as "3+4". The next free start is 2.'
    )
    assert one.other == "b"


def test_a_channel_may_repeat_and_is_told_of_with_one_that_is_free() -> None:
    (one,) = found(unit("a", channel=7), unit("b", address=2, channel=7), unit("c", address=3, channel=30))
    assert (one.kind, one.refused, one.other, one.instead) == ("channel", False, "b", {"channel": 31})
    assert found(unit("a"), unit("b", address=2)) == []


def test_what_is_reserved_is_told_of_and_never_suggested() -> None:
    (one,) = found(unit("a", address=101))
    assert (one.kind, one.refused, one.instead) == ("reserved", False, {"address": 201})
    assert one.why == "Universe 1: slots 101-200 reserved: visitors. The next free start is 201."
    (over,) = found(unit("a", "head", 91), unit("b", "head", 91))
    assert over.instead == {"address": 201}


@pytest.mark.parametrize(
    ("there", "free"),
    [(["3"], "3A"), (["3", "3A"], "3B"), (["3A"], "3B"), (["Lamp"], "LampA"), (["3Z"], "3ZA")],
)
def test_a_second_unit_of_a_number_gets_another_one_suggested_or_is_wanted(
    there: list[str], free: str
) -> None:
    others = [unit(n, address=10 + at, position="LX 1", unit=n) for at, n in enumerate(there)]
    new = unit("new", position="LX 1", unit=there[0])
    (one,) = found(new, *others)
    assert (one.kind, one.refused, one.instead) == ("unit", True, {"unit": free})
    (same,) = found(new, *others, even_so=True)
    assert not same.refused
    patch = Patch(others, PROFILES)
    assert patch.problem(new) is not None
    assert patch.problem(new, even_so=True) is None
    assert found(replace(new, unit=free), *others) == []
    assert found(replace(new, position="LX 2"), *others) == []


def test_when_every_letter_is_taken_a_number_comes_behind() -> None:
    letters = [unit(chr(64 + n), address=n, position="P", unit=f"1{chr(64 + n)}") for n in range(1, 27)]
    (one,) = found(unit("new", address=40, position="P", unit="1A"), *letters)
    assert one.instead == {"unit": "1A-2"}


def test_everything_about_a_fixture_is_found_not_only_the_first() -> None:
    new = unit("new", "wash", 1, mode="none", position="House", unit="1", channel=3)
    assert [one.kind for one in found(new, *RIG.values())] == ["mode", "unit", "channel"]


def test_a_fixture_has_no_quarrel_with_its_former_self() -> None:
    assert found(replace(RIG["aisle"], purpose="Steps"), *RIG.values()) == []


def test_who_is_added_is_there_for_the_next() -> None:
    patch = Patch((), PROFILES)
    patch.add(unit("a", "head", 1, channel=4, position="P", unit="1"))
    new = unit("b", "head", 3, channel=4, position="P", unit="1")
    assert [one.kind for one in patch.findings(new)] == ["overlap", "unit", "channel"]


def test_where_a_universe_is_full_another_one_is_asked_for() -> None:
    full = {**PROFILES, "all": profile("all", mode("m", control("Dimmer", 512)))}
    patch = Patch([unit("all", "all", 1, mode="m")], full)
    (one,) = patch.findings(unit("new"))
    assert one.instead == {}
    assert one.why.endswith("Nothing that long is free here: choose another universe.")
