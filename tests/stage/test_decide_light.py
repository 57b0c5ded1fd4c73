"""Driving fixtures and bare slots: what is done, and each thing that is refused."""

import math
from typing import Any

import pytest

from server.rig.profile import Action, ModeMaster
from server.rig.universe import UNIVERSE_LAST
from server.stage import events
from server.stage.commands import Act, Command, HandsOn, LetGo, LightUp, SetSlot, SetValues, Take
from server.stage.decide import MOST_UNIVERSES
from server.stage.events import LetGone, LevelsSet, SlotSet, Taken
from server.stage.stage import Stage
from tests.rigs import RIG, control, done, function, mode, profile, refused, stage_with, unit

__all__: list[str] = []


def held_by(person: str, fixture: str) -> Stage:
    stage = stage_with()
    done(stage, Take(person, fixture))
    return stage


def test_taking_and_taking_over_are_one_event_and_the_values_stay() -> None:
    stage = stage_with()
    assert done(stage, Take("mo", "spot")) == [Taken("mo", "spot")]
    assert done(stage, Take("mo", "spot")) == []
    done(stage, SetValues("mo", "spot", {"Dimmer": {"raw": 99}}))
    assert refused(stage, Take("kit", "spot")).holder == "mo"
    assert done(stage, Take("kit", "spot", over=True)) == [Taken("kit", "spot")]
    assert (stage.state.holders, stage.state.hand) == ({"spot": "kit"}, {"spot": {"Dimmer": 99}})


def test_letting_go_gives_the_fixture_back_to_its_base() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "spot", {"Dimmer": 1}))
    assert done(stage, LetGo("mo", "spot")) == [LetGone("mo", "spot", 2.0)]
    assert (stage.state.holders, stage.state.hand) == ({}, {})
    assert done(stage, LetGo("mo", "spot")) == []


def test_letting_go_of_everything_is_of_ones_own() -> None:
    stage = stage_with()
    for person, fixture in (("mo", "spot"), ("kit", "wash"), ("mo", "head")):
        done(stage, Take(person, fixture))
    assert done(stage, LetGo("mo", "*")) == [LetGone("mo", "spot", 2.0), LetGone("mo", "head", 2.0)]
    assert stage.state.holders == {"wash": "kit"}
    assert done(stage, LetGo("ann", "*")) == []


def test_only_the_lead_lets_go_of_what_somebody_else_has() -> None:
    stage = held_by("mo", "head")
    answer = refused(stage, LetGo("kit", "head"))
    assert (answer.why, answer.holder) == ("Mo has 21 (Bridge 1 unit 3), not you.", "mo")
    assert done(stage, LetGo("ann", "head")) == [LetGone("ann", "head", 2.0)]


def test_what_does_not_exist_cannot_be_let_go() -> None:
    assert refused(stage_with(), LetGo("mo", "nobody")).fixture == "nobody"


def test_setting_takes_in_hand_and_every_way_of_asking_becomes_raw() -> None:
    stage = stage_with()
    wanted = {"Dimmer": 0.5, "Pan": {"raw": 1}, "Shutter1": {"range": "open"}, "Gobo1": 0}
    raws = {"Dimmer": 32768, "Pan": 1, "Shutter1": 95, "Gobo1": 0}
    assert done(stage, SetValues("mo", "head", wanted)) == [
        Taken("mo", "head"),
        LevelsSet("mo", "head", {**raws}),
    ]
    assert stage.state.hand == {"head": raws}
    assert done(stage, SetValues("mo", "head", {"Gobo1": 1})) == [LevelsSet("mo", "head", {"Gobo1": 255})]
    assert stage.state.hand["head"] == raws | {"Gobo1": 255}


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({"Dimmer": 1.001}, "Dimmer: 1.001 is not between 0 and 1."),
        ({"Dimmer": -0.1}, "Dimmer: -0.1 is not between 0 and 1."),
        ({"Dimmer": math.nan}, "Dimmer: nan is not between 0 and 1."),
        ({"Dimmer": math.inf}, "Dimmer: inf is not between 0 and 1."),
        ({"Dimmer": None}, "Dimmer needs a number."),
        ({"Dimmer": "full"}, "Dimmer needs a number from 0 to 1, or raw, physical or range."),
        ({"Dimmer": {"raw": 65536}}, "Dimmer takes 0 to 65535, not 65536."),
        ({"Gobo1": {"raw": 256}}, "Gobo1 takes 0 to 255, not 256."),
        ({"Gobo1": {"raw": -1}}, "Gobo1 takes 0 to 255, not -1."),
        ({"Gobo1": {"range": "Stars"}}, 'Gobo1 has no range called "Stars".'),
        ({"Shutter1": {"physical": 99}}, "Shutter1 cannot do 99 (Shutter1 0 to 1; Strobe 1 to 20)."),
        ({"Iris": 1}, "21 (Bridge 1 unit 3) has no control called Iris."),
        ({"Gobo1": 1, "Iris": 1}, "21 (Bridge 1 unit 3) has no control called Iris."),
        ({"Gobo1": 1, "Dimmer": 2}, "Dimmer: 2 is not between 0 and 1."),
        ({}, "Nothing was asked of the fixture."),
        ({"Fans": 0}, "Fans is guarded (fan): it stays at its safe value."),
        ({"Control1": {"raw": 15}}, "Recalibrate is held, not set. It will move."),
        ({"Control1": {"raw": 255}}, "Lamp off is held, not set. The lamp goes out."),
        ({"Shutter1": {"raw": 130}}, "Strobe makes light flash. Press and hold to use it."),
        (
            {"Shutter1": 1},
            "Strobe flashes faster than 3 times a second. The lead can lift that for one fixture.",
        ),
    ],
)
def test_what_a_control_cannot_or_must_not_do_is_refused(values: dict[str, object], why: str) -> None:
    assert refused(stage_with(), SetValues("mo", "head", values)).why == why


def test_a_fixture_that_does_not_exist_is_refused() -> None:
    for command in (
        SetValues("mo", "nobody", {"Dimmer": 1}),
        LightUp("mo", "nobody"),
        Act("mo", "nobody", "Control1", "Recalibrate", held=True),
        HandsOn("mo", "nobody", on=True),
    ):
        assert refused(stage_with(), command).why == "There is no such fixture any more."


TOUCHES = [
    SetValues("mo", "head", {"Gobo1": 1}),
    LightUp("mo", "head"),
    Act("mo", "head", "Control1", "Recalibrate", held=True),
    SetSlot("mo", 1, 18, 200),
    SetSlot("mo", 1, 18, None),
    Take("mo", "head"),
]


@pytest.mark.parametrize("command", TOUCHES, ids=lambda command: type(command).__name__)
def test_touching_somebody_elses_fixture_asks_first(command: Command) -> None:
    answer = refused(held_by("kit", "head"), command)
    assert (answer.why, answer.fixture, answer.holder, answer.ask) == (
        "Kit has 21. Take it?",
        "head",
        "kit",
        "take",
    )


@pytest.mark.parametrize(
    "command",
    [
        SetValues("ann", "fog", {"Fog1": 1}),
        LightUp("ann", "fog"),
        Take("ann", "fog", over=True),
        SetSlot("ann", 1, 41, 255),
        SetSlot("ann", 1, 41, None),
        SetValues("ann", "pump", {"Dimmer": 1}),
        SetSlot("ann", 1, 42, 255),
        Act("ann", "pump", "Dimmer", "Dimmer", held=True),
    ],
)
def test_a_guarded_unit_is_driven_by_nobody_in_no_way(command: Command) -> None:
    assert "is guarded" in refused(stage_with(), command).why


@pytest.mark.parametrize("values", [{"Shutter1": 135 / 255}, {"Shutter1": {"raw": 135}}])
def test_flashing_needs_press_and_hold(values: dict[str, object]) -> None:
    stage = stage_with()
    assert refused(stage, SetValues("mo", "head", values)).ask == "held"
    done(stage, SetValues("mo", "head", values, held=True))
    assert stage.state.hand["head"] == {"Shutter1": 135}
    assert stage.state.flashing == {"head": "mo"}


def test_what_flashes_already_changes_its_speed_without_holding_again() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "head", {"Shutter1": {"raw": 130}}, held=True))
    done(stage, SetValues("mo", "head", {"Shutter1": {"raw": 135}}))
    done(stage, SetValues("mo", "head", {"Shutter1": {"raw": 100}}))
    done(stage, SetValues("mo", "head", {"Shutter1": {"raw": 135}}))
    done(stage, LetGo("mo", "head"))
    assert refused(stage, SetValues("mo", "head", {"Shutter1": {"raw": 130}})).ask == "held"


def test_who_takes_it_over_holds_for_flashing_again() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "head", {"Shutter1": {"raw": 130}}, held=True))
    done(stage, Take("kit", "head", over=True))
    assert stage.state.flashing == {}
    assert refused(stage, SetValues("kit", "head", {"Shutter1": {"raw": 130}})).ask == "held"


def test_holding_does_not_start_an_action() -> None:
    answer = refused(stage_with(), SetValues("mo", "head", {"Control1": {"raw": 15}}, held=True))
    assert answer.ask == "held"


SLOW: dict[str, Any] = {"unit": "Frequency", "physical": (0.5, 3.0)}


def dependent() -> Stage:
    """A shutter that flashes and a reset that acts, each only at some values of a third control."""
    shutter = (
        function("Shutter1", mode_master=ModeMaster("ShutterMode", 0, 99)),
        function("Shutter1Strobe", name="Strobe", mode_master=ModeMaster("ShutterMode", 100, 255), **SLOW),
    )
    reset = Action("reset", 3.0, 0, "It will move.")
    deeds = (
        function("NoFeature", mode_master=ModeMaster("ShutterMode", 0, 199)),
        function("Reset", name="Recalibrate", action=reset, mode_master=ModeMaster("ShutterMode", 200, 255)),
    )
    controls = control("Shutter1", 1, functions=shutter), control("Control1", 3, functions=deeds)
    stage = stage_with(unit("a", "p", mode="m"))
    stage.state.profiles["p"] = profile("p", mode("m", *controls, control("ShutterMode", 2)))
    return stage


def test_whether_a_value_flashes_is_asked_at_the_values_its_mode_master_has_or_gets() -> None:
    stage = dependent()
    assert refused(stage, SetValues("mo", "a", {"Shutter1": 0.5, "ShutterMode": {"raw": 150}})).ask == "held"
    done(stage, SetValues("mo", "a", {"Shutter1": 0.5}))


def test_a_mode_master_that_would_make_another_control_flash_needs_holding() -> None:
    stage = dependent()
    answer = refused(stage, SetValues("mo", "a", {"ShutterMode": {"raw": 150}}))
    assert (answer.why, answer.ask) == ("Strobe makes light flash. Press and hold to use it.", "held")
    done(stage, SetValues("mo", "a", {"ShutterMode": {"raw": 99}}))
    done(stage, SetValues("mo", "a", {"ShutterMode": {"raw": 150}}, held=True))
    done(stage, SetValues("mo", "a", {"ShutterMode": {"raw": 160}}))


def test_a_mode_master_that_would_set_an_action_off_is_refused_even_held() -> None:
    answer = refused(dependent(), SetValues("mo", "a", {"ShutterMode": 1}, held=True))
    assert answer.why == "Recalibrate is held, not set. It will move."


def test_lighting_up_opens_the_unit_over_the_time_the_lead_has_set() -> None:
    stage = stage_with()
    lit = {"Dimmer": 65535, "Pan": 32768, "Tilt": 32768, "Shutter1": 100, "Gobo1": 0}
    assert done(stage, LightUp("mo", "head")) == [Taken("mo", "head"), LevelsSet("mo", "head", {**lit}, 0.7)]
    hanging = done(stage, LightUp("mo", "head", as_it_hangs=True))
    assert hanging == [LevelsSet("mo", "head", {"Dimmer": 65535, "Shutter1": 100, "Gobo1": 0}, 0.7)]


def test_an_action_is_held_and_leaves_no_level_behind() -> None:
    stage = stage_with()
    answer = refused(stage, Act("mo", "head", "Control1", "Recalibrate"))
    assert (answer.why, answer.ask) == ("Press and hold. It will move.", "held")
    acted = events.Acted("mo", "head", "Control1", "Recalibrate", 14, 3.0, "reset", 0.0)
    assert done(stage, Act("mo", "head", "Control1", "Recalibrate", held=True)) == [
        Taken("mo", "head"),
        acted,
    ]
    assert stage.state.hand == {}


@pytest.mark.parametrize(
    ("key", "name"), [("Control1", "Idle"), ("Control1", "Strike"), ("Iris", "Recalibrate")]
)
def test_what_is_no_action_cannot_be_done(key: str, name: str) -> None:
    assert refused(stage_with(), Act("mo", "head", key, name, held=True)).why == (
        "21 (Bridge 1 unit 3) has no action of that name."
    )


def test_house_staff_do_no_actions() -> None:
    answer = refused(stage_with(), Act("hal", "aisle", "Dimmer", "Dimmer"))
    assert answer.why == "Only the lead or the crew can do that."


@pytest.mark.parametrize(
    "command",
    [
        SetValues("mo", "head", {"Pan": 1}),
        SetValues("mo", "head", {"Control1": 0}),
        SetSlot("mo", 1, 14, 9),
        Act("mo", "head", "Control1", "Recalibrate", held=True),
    ],
)
def test_nobody_moves_a_unit_that_hands_are_on_whoever_holds_it(command: Command) -> None:
    stage = held_by("mo", "head")
    done(stage, HandsOn("kit", "head", on=True))
    assert refused(stage, command).why.startswith("Hands are on 21 (Bridge 1 unit 3): ")


def test_under_hands_a_unit_still_lights_up_as_it_hangs() -> None:
    stage = stage_with()
    done(stage, HandsOn("kit", "head", on=True))
    done(stage, LightUp("mo", "head"))
    assert stage.state.hand["head"] == {"Dimmer": 32768, "Shutter1": 100, "Gobo1": 0}


def test_a_bare_slot_is_set_and_given_back_and_opens_its_universe() -> None:
    stage = stage_with()
    assert done(stage, SetSlot("mo", 5, 512, 255)) == [SlotSet("mo", 5, 512, 255)]
    assert stage.state.slots[5][512].raw == 255
    assert stage.state.slots[5][512].person == "mo"
    assert stage.state.opened == {5}
    assert done(stage, SetSlot("kit", 5, 512, None)) == [SlotSet("kit", 5, 512, None)]
    assert stage.state.slots == {5: {}}


def test_giving_back_what_was_never_set_does_nothing_and_opens_nothing() -> None:
    stage = stage_with()
    assert done(stage, SetSlot("mo", 5, 1, None)) == []
    assert done(stage, SetSlot("mo", 1, 18, None)) == []
    assert (stage.state.opened, stage.state.holders) == (set(), {})


@pytest.mark.parametrize(
    ("universe", "slot", "raw", "why"),
    [
        (0, 1, 0, "Universe 0 does not exist: 1 to 63999."),
        (UNIVERSE_LAST + 1, 1, 0, "Universe 64000 does not exist: 1 to 63999."),
        (1, 0, 0, "Slot 0 does not exist: 1 to 512."),
        (1, 513, 0, "Slot 513 does not exist: 1 to 512."),
        (1, 100, -1, "A slot carries 0 to 255, not -1."),
        (1, 100, 256, "A slot carries 0 to 255, not 256."),
        (1, 500, 9, "Universe 1 slot 500 is off limits: aisle light."),
        (1, 512, None, "Universe 1 slot 512 is off limits: aisle light."),
        (9, 77, 0, "Universe 9 slot 77 is off limits: hoists."),
    ],
)
def test_slots_that_do_not_exist_or_are_off_limits_are_refused(
    universe: int, slot: int, raw: int | None, why: str
) -> None:
    for person in ("ann", "mo", "hal"):
        assert refused(stage_with(), SetSlot(person, universe, slot, raw)).why == why


def test_beside_the_slots_off_limits_a_slot_is_free() -> None:
    done(stage_with(), SetSlot("mo", 1, 499, 9))
    done(stage_with(), SetSlot("mo", 2, 500, 9))


def test_house_staff_leave_bare_slots_alone() -> None:
    assert refused(stage_with(), SetSlot("hal", 1, 100, 9)).why == "Only the lead or the crew can do that."
    done(stage_with(), SetSlot("hal", 1, 3, 9))  # of a house fixture


def test_universes_are_opened_up_to_what_the_output_has_room_for() -> None:
    stage = stage_with()
    patched = {f.universe for f in RIG.values()}
    stage.state.opened = set(range(100, 100 + MOST_UNIVERSES - len(patched)))
    assert refused(stage, SetSlot("mo", 50, 1, 9)).why.startswith("1024 universes are in use already.")
    for universe in (1, 100):
        done(stage, SetSlot("mo", universe, 400, 9))


def test_a_slot_of_a_fixture_acts_on_its_control_byte_for_byte() -> None:
    stage = stage_with()
    assert done(stage, SetSlot("mo", 1, 13, 0x12)) == [
        Taken("mo", "head"),
        LevelsSet("mo", "head", {"Pan": 0x1200}),
    ]
    assert done(stage, SetSlot("mo", 1, 14, 0x34)) == [LevelsSet("mo", "head", {"Pan": 0x1234})]
    assert done(stage, SetSlot("mo", 1, 14, None)) == [LevelsSet("mo", "head", {"Pan": None})]
    assert stage.state.hand == {"head": {}}
    assert stage.state.slots == {}


def test_a_slot_of_a_control_that_counts_down_still_leaves_at_the_level_asked_for() -> None:
    stage = stage_with(unit("a", "head", 11, inverted=("Pan",)))
    done(stage, SetSlot("mo", 1, 13, 0x12))
    done(stage, SetSlot("mo", 1, 14, 0x34))
    assert stage.state.hand["a"]["Pan"] == 0xFFFF - 0x1234


@pytest.mark.parametrize(
    ("slot", "raw", "why"),
    [
        (17, 130, "Strobe makes light flash. Press and hold to use it."),
        (19, 15, "Recalibrate is held, not set. It will move."),
        (20, 1, "Fans is guarded (fan): it stays at its safe value."),
    ],
)
def test_a_slot_is_no_way_round_what_its_control_refuses(slot: int, raw: int, why: str) -> None:
    assert refused(stage_with(), SetSlot("mo", 1, slot, raw)).why == why


def test_a_slot_that_no_control_describes_is_refused() -> None:
    stage = stage_with(unit("a", "p", 1, mode="m", channel=5))
    stage.state.profiles["p"] = profile("p", mode("m", control("Dimmer", 3)))
    assert refused(stage, SetSlot("mo", 1, 2, 9)).why == "5 does nothing with that slot."
