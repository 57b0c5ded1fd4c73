"""Changing the patch: all of it or nothing, and never under somebody's hands."""

from dataclasses import replace

import pytest

from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.stage.commands import (
    AddProfile,
    ChangePatch,
    Command,
    HandsOn,
    RecallLook,
    SaveLook,
    SetSlot,
    SetValues,
    Take,
    Withdraw,
)
from server.stage.decide import MOST_UNIVERSES
from server.stage.decide_patch import MOST_FIXTURES, change_patch
from server.stage.events import FixturePut, FixtureRemoved, ProfileAdded, SlotSet
from server.stage.stage import Stage
from tests.rigs import PROFILES, RIG, control, done, mode, profile, refused, stage_with, unit

__all__: list[str] = []

BLADE = profile("blade", mode("m", control("Dimmer", 4)))


def blade(name: str = "new", address: int | None = 200, **fields: object) -> Fixture:
    return unit(name, "blade", address, mode="m", **fields)


def test_the_lead_adds_changes_and_removes_in_one_go() -> None:
    stage = stage_with()
    moved = replace(RIG["spot"], address=300)
    command = ChangePatch("ann", (blade(), moved, RIG["work"]), ("wash",), (BLADE,))
    assert done(stage, command) == [
        ProfileAdded("ann", BLADE),
        FixtureRemoved("ann", "wash"),
        FixturePut("ann", blade()),
        FixturePut("ann", moved),
    ]
    assert stage.state.fixtures["new"] == blade()
    assert stage.state.fixtures["spot"].address == 300
    assert "wash" not in stage.state.fixtures
    assert "wash" not in stage.state.order


def test_a_place_that_is_given_up_in_the_same_go_is_free() -> None:
    done(stage_with(), ChangePatch("ann", (replace(RIG["spot"], address=31),), ("wash",)))
    swapped = replace(RIG["spot"], address=2), replace(RIG["work"], address=1)
    done(stage_with(), ChangePatch("ann", swapped))


def test_what_is_put_and_removed_in_one_go_is_put() -> None:
    stage = stage_with()
    assert done(stage, ChangePatch("ann", (RIG["spot"],), ("spot",))) == []
    assert stage.state.fixtures["spot"] == RIG["spot"]


@pytest.mark.parametrize(
    "command", [ChangePatch("mo", (blade(),)), AddProfile("mo", BLADE), ChangePatch("hal")]
)
def test_the_patch_is_the_leads(command: Command) -> None:
    assert refused(stage_with(), command).why == "Only the lead can do that."


def test_at_the_start_nobody_has_to_ask() -> None:
    stage = stage_with(people=0)
    command = ChangePatch("", (blade(),), (), (BLADE,))
    assert change_patch(stage.state, command, stage.rules) == [
        ProfileAdded("", BLADE),
        FixturePut("", blade()),
    ]


@pytest.mark.parametrize(
    ("fixture", "why"),
    [
        (unit("new", "none", channel=7), '7: There is no profile "none"'),
        (blade(address=510), "a fixture without a channel: 4 slots from 510 do not fit into a universe"),
        (blade(address=0), "a fixture without a channel: 4 slots from 0 do not fit into a universe"),
        (blade(address=8), "a fixture without a channel: 1.8-11 overlaps 21 (Bridge 1 unit 3) on slot 11."),
        (
            blade(address=497),
            "a fixture without a channel: Universe 1: slots 500-512 off limits: aisle light.",
        ),
        (
            blade(address=4, universe=9),
            "a fixture without a channel: Universe 9: slots 1-512 off limits: hoists.",
        ),
        (
            blade(position="House", unit="1"),
            "House unit 1: House already has a unit 1. Give one of them another",
        ),
    ],
)
def test_what_cannot_be_patched_so_is_refused_by_name(fixture: Fixture, why: str) -> None:
    answer = refused(stage_with(), ChangePatch("ann", (blade("good", 100), fixture), (), (BLADE,)))
    assert answer.why.startswith(why), answer.why
    assert answer.fixture == "new"


def test_two_new_ones_must_not_overlap_each_other_either() -> None:
    both = ChangePatch("ann", (blade("a", 200), blade("b", 203)), (), (BLADE,))
    assert "overlaps" in refused(stage_with(), both).why


def test_a_position_and_a_unit_name_one_light_whether_or_not_other_parts_agree() -> None:
    stage = stage_with()
    done(stage, ChangePatch("ann", (blade("a", 200, position="House", unit="2"),), (), (BLADE,)))
    done(stage, ChangePatch("ann", (blade("b", 210, position="House"), blade("c", 220, unit="1", channel=3))))


def test_what_is_gone_already_cannot_be_removed() -> None:
    assert refused(stage_with(), ChangePatch("ann", (), ("spot", "nobody"))).fixture == "nobody"


def test_a_rig_holds_so_many_fixtures() -> None:
    shelf = tuple(unit(str(n), address=None) for n in range(MOST_FIXTURES - len(RIG)))
    more = unit("more", address=None)
    assert refused(stage_with(), ChangePatch("ann", (*shelf, more))).why == "A rig holds up to 4096 fixtures."
    done(stage_with(), ChangePatch("ann", (*shelf, more), ("spot",)))


def test_a_rig_uses_so_many_universes() -> None:
    stage = stage_with()
    stage.state.opened = set(range(100, 100 + MOST_UNIVERSES - 2))
    assert refused(stage, ChangePatch("ann", (blade(universe=50),), (), (BLADE,))).why.startswith(
        "A rig uses up to 1024 universes."
    )
    done(stage, ChangePatch("ann", (blade(universe=100),), (), (BLADE,)))


def other(key: str) -> Profile:
    return profile(key, mode("one", control("Dimmer", 2)))


def test_a_profile_in_use_is_not_replaced_by_another_one() -> None:
    stage = stage_with()
    why = 'Fixtures of the rig use a profile "dimmer" already. Give the new one another key.'
    assert refused(stage, AddProfile("ann", other("dimmer"))).why == why
    assert refused(stage, ChangePatch("ann", (), (), (other("dimmer"),))).why == why
    assert done(stage, AddProfile("ann", PROFILES["dimmer"])) == [ProfileAdded("ann", PROFILES["dimmer"])]


def test_a_profile_nobody_uses_is_added_or_replaced() -> None:
    stage = stage_with(RIG["head"])
    done(stage, AddProfile("ann", other("dimmer")))
    assert stage.state.profiles["dimmer"] == other("dimmer")
    done(stage, AddProfile("ann", BLADE))
    assert stage.state.profiles["blade"] == BLADE


@pytest.mark.parametrize(
    "changed",
    [
        {"address": 100},
        {"universe": 3},
        {"universe": None, "address": None},
        {"mode": "coarse"},
        {"profile": "dimmer", "mode": "one"},
        {"guarded": True},
        {"inverted": ("Pan",)},
    ],
)
def test_a_unit_that_hands_are_on_keeps_its_patch(changed: dict[str, object]) -> None:
    stage = stage_with()
    done(stage, HandsOn("kit", "head", on=True))
    fixture = replace(RIG["head"], **changed)  # type: ignore[arg-type]
    assert refused(stage, ChangePatch("ann", (fixture,))).why == (
        "Hands are on 21 (Bridge 1 unit 3): its patch stays until they are off."
    )
    assert refused(stage, ChangePatch("ann", (), ("head",))).why == (
        "Hands are on 21 (Bridge 1 unit 3): it stays in the rig until they are off."
    )
    done(stage, HandsOn("kit", "head", on=False))
    done(stage, ChangePatch("ann", (fixture,)))


def test_what_it_is_called_may_change_while_hands_are_on_it() -> None:
    stage = stage_with()
    done(stage, HandsOn("kit", "head", on=True))
    renamed = replace(RIG["head"], channel=99, purpose="Bench", notes="Lamp new", house=True)
    done(stage, ChangePatch("ann", (renamed,)))
    assert stage.state.hands_on["head"].frozen["Pan"] == 32768


def test_what_somebody_has_in_hand_stays_in_the_rig_until_they_let_go_or_are_long_away() -> None:
    stage = stage_with()
    done(stage, Take("mo", "spot"))
    why = "Mo has 1 in hand: it stays in the rig until they let go."
    assert refused(stage, ChangePatch("ann", remove=("spot",))).why == why
    done(stage, Take("ann", "head"))
    done(stage, ChangePatch("ann", remove=("head",)))
    done(stage, Withdraw("mo"))
    stage.state.gone["mo"] = -40.0
    done(stage, ChangePatch("ann", remove=("spot",)))
    assert stage.state.holders == {}


def test_a_new_address_stays_in_the_same_hand_with_the_same_values() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "spot", {"Dimmer": 1}))
    done(stage, ChangePatch("ann", (replace(RIG["spot"], address=300),)))
    assert (stage.state.holders["spot"], stage.state.hand["spot"]) == ("mo", {"Dimmer": 255})


def test_levels_set_by_hand_where_a_fixture_comes_are_given_back() -> None:
    stage = stage_with()
    for slot in (199, 200, 203, 204):
        done(stage, SetSlot("mo", 1, slot, 50))
    events = done(stage, ChangePatch("ann", (blade(), blade("shelf", None)), (), (BLADE,)))
    assert events[1:3] == [SlotSet("ann", 1, 200, None), SlotSet("ann", 1, 203, None)]
    assert set(stage.state.slots[1]) == {199, 204}


def in_coarse(stage: Stage) -> dict[str, int]:
    done(stage, ChangePatch("ann", (replace(RIG["head"], mode="coarse"),)))
    return stage.state.asked("head", PROFILES["head"].modes[1])


def test_a_change_of_mode_carries_values_where_a_control_does_the_same_one_thing() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "head", {"Dimmer": 0.5, "Pan": 1, "Shutter1": 0, "Gobo1": 1}))
    asked = in_coarse(stage)
    assert asked == {"Dimmer": 128, "Pan": 255, "Shutter1": 100, "Control1": 0}
    assert stage.state.hand["head"] == {"Dimmer": 128, "Pan": 255}
    assert stage.state.holders == {"head": "mo"}


def test_a_change_of_mode_carries_looks_and_what_was_recalled_too() -> None:
    stage = stage_with()
    done(stage, SetValues("ann", "head", {"Dimmer": 1, "Pan": 0.25}))
    done(stage, SaveLook("ann", "one", "One"))
    done(stage, RecallLook("ann", "one", 0.0))
    in_coarse(stage)
    kept = {"Dimmer": 255, "Pan": 64}
    assert stage.state.looks["one"].values["head"] == stage.state.recalled["head"] == kept
    assert stage.state.looks["one"].values["spot"] == {"Dimmer": 0}


def test_a_fixture_that_comes_back_with_another_mode_brings_no_old_values() -> None:
    stage = stage_with()
    done(stage, SetValues("ann", "head", {"Pan": 1}))
    done(stage, SaveLook("ann", "one", "One", None, baseline=True))
    done(stage, ChangePatch("ann", (), ("head",)))
    assert in_coarse(stage)["Pan"] == 128
