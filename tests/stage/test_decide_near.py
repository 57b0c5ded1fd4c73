"""Hands on, aloft, and the dark that waits."""

from dataclasses import replace

import pytest

from server.stage import events
from server.stage.commands import (
    Act,
    AnswerDark,
    Arm,
    CallDark,
    ChangePatch,
    Command,
    GoAloft,
    HandsOn,
    Leave,
    LetGo,
    LightUp,
    RecallLook,
    RunGuarded,
    SetBlackout,
    SetMaster,
    SetSlot,
    SetValues,
    TagOut,
    Take,
)
from server.stage.near import SLOW_S, SOFT_S
from server.stage.stage import Stage
from tests.rigs import RIG, done, refused, stage_with, unit

__all__: list[str] = []

FROZEN = {"Pan": 5, "Tilt": 32768, "Control1": 0}


def touched() -> Stage:
    stage = stage_with()
    done(stage, HandsOn("kit", "head", on=True))
    return stage


def aloft() -> Stage:
    """Kit works at the bridge, where the head hangs, which points somewhere that nobody asks for."""
    stage = stage_with()
    done(stage, GoAloft("kit", "Bridge 1", leaving={"head": {"Pan": 5}}))
    return stage


def test_hands_on_freezes_what_moves_or_acts_at_what_is_asked() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "head", {"Pan": {"raw": 5}}))
    assert done(stage, HandsOn("kit", "head", on=True)) == [events.HandsOnSet("kit", "head", FROZEN, "kit")]
    assert done(stage, HandsOn("kit", "head", on=True)) == []
    assert done(stage, HandsOn("kit", "head", on=False)) == [events.HandsOnSet("kit", "head", None, "kit")]
    assert stage.state.hands_on == {}
    assert done(stage, HandsOn("kit", "head", on=False)) == []


def test_it_is_frozen_until_the_last_hands_are_off() -> None:
    stage = touched()
    done(stage, HandsOn("mo", "head", on=True, leaving={"head": {"Pan": 99}}))
    assert [*stage.state.hands_on["head"].people] == ["kit", "mo"]
    done(stage, HandsOn("kit", "head", on=False))
    assert [*stage.state.hands_on["head"].people] == ["mo"]
    assert stage.state.frozen("head")["Pan"] == 32768
    done(stage, HandsOn("mo", "head", on=False))
    assert stage.state.frozen("head") == {}


def test_hands_come_off_by_who_put_them_on_or_by_the_lead() -> None:
    stage = touched()
    assert (
        refused(stage, HandsOn("mo", "head", on=False)).why == "Kit has hands on it. Ask them, or the lead."
    )
    assert refused(stage, HandsOn("mo", "head", on=False, off_of="kit")).fixture == "head"
    done(stage, HandsOn("ann", "head", on=False, off_of="kit"))
    assert stage.state.hands_on == {}


def test_the_lead_takes_all_hands_off_at_once() -> None:
    stage = touched()
    done(stage, HandsOn("mo", "head", on=True))
    done(stage, HandsOn("ann", "head", on=False))
    assert stage.state.hands_on == {}


def test_house_staff_put_their_hands_on_house_fixtures() -> None:
    stage = stage_with()
    done(stage, HandsOn("hal", "aisle", on=True))
    assert refused(stage, HandsOn("hal", "head", on=True)).why.startswith(
        "House staff put their hands on house"
    )


@pytest.mark.parametrize("stage", [touched, aloft])
def test_who_is_at_a_unit_does_not_leave(stage: object) -> None:
    assert callable(stage)
    assert "Say first" in refused(stage(), Leave("kit")).why


def test_going_aloft_holds_still_what_hangs_there_where_it_points_now() -> None:
    stage = aloft()
    assert stage.state.still == {"head": FROZEN}
    assert stage.state.aloft_at("Bridge 1") == ["kit"]
    assert done(stage, GoAloft("kit", "Bridge 1")) == []
    done(stage, GoAloft("mo", "Bridge 1"))
    done(stage, GoAloft("kit", None))
    assert stage.state.still == {"head": FROZEN}
    assert done(stage, GoAloft("mo", None)) == [
        events.AloftSet("mo", "mo", None, 0.0),
        events.StillSet("mo", "head", None),
    ]


def test_whoever_climbs_over_to_another_position_frees_the_first() -> None:
    stage = aloft()
    done(stage, GoAloft("kit", "House"))
    assert stage.state.still == {}


def test_a_mark_goes_up_by_oneself_and_comes_down_by_oneself_or_by_the_lead() -> None:
    stage = aloft()
    assert "for themselves" in refused(stage, GoAloft("ann", "House", of="mo")).why
    assert refused(stage, GoAloft("mo", None, of="kit")).why == "Only the lead can do that."
    assert refused(stage, GoAloft("mo", " ")).why == "Say in 1 to 60 characters where that is."
    done(stage, GoAloft("ann", None, of="kit"))
    assert stage.state.aloft == {}


def test_the_first_move_beside_somebody_aloft_is_held_and_slow_and_then_free() -> None:
    stage = aloft()
    answer = refused(stage, SetValues("mo", "head", {"Pan": 1, "Dimmer": 1}))
    assert (answer.why, answer.ask) == (
        "21 (Bridge 1 unit 3) will move, and Kit is aloft there. Press and hold.",
        "held",
    )
    (_, freed, level) = done(stage, SetValues("mo", "head", {"Pan": 1}, held=True))
    assert freed == events.StillSet("mo", "head", None)
    assert isinstance(level, events.LevelsSet)
    assert level.fade_s == SLOW_S
    assert done(stage, SetValues("mo", "head", {"Pan": 0.5})) == [
        events.LevelsSet("mo", "head", {"Pan": 32768}, 0.0)
    ]


def test_who_takes_it_over_holds_once_more() -> None:
    stage = aloft()
    done(stage, SetValues("mo", "head", {"Pan": 1}, held=True))
    done(stage, Take("ann", "head", over=True))
    done(stage, SetValues("ann", "head", {"Pan": 1}))  # it moves already, and was not let go
    done(stage, LetGo("ann", "head"))
    assert refused(stage, SetValues("ann", "head", {"Pan": 1})).ask == "held"


def test_let_go_beside_somebody_aloft_it_stays_where_it_points() -> None:
    stage = aloft()
    done(stage, SetValues("mo", "head", {"Pan": 1}, held=True))
    gone = done(stage, LetGo("mo", "*", leaving={"head": {"Pan": 777}}))
    assert gone[-1] == events.StillSet("mo", "head", {**FROZEN, "Pan": 777})


def test_house_staff_move_nothing_beside_somebody_aloft() -> None:
    stage = stage_with(unit("head", "head", 11, position="House", house=True))
    done(stage, GoAloft("kit", "House"))
    assert refused(stage, SetValues("hal", "head", {"Pan": 1}, held=True)).ask is None
    done(stage, SetValues("hal", "head", {"Dimmer": 0.05}))


def test_light_comes_to_somebody_aloft_and_motion_only_when_held() -> None:
    stage = aloft()
    lit = done(stage, LightUp("mo", "head"))[-1]
    assert isinstance(lit, events.LevelsSet)
    assert "Pan" not in lit.raws
    assert stage.state.still
    happened = done(stage, LightUp("mo", "head", held=True))
    assert [type(each) for each in happened] == [events.LevelsSet, events.StillSet, events.LevelsSet]
    assert isinstance(happened[-1], events.LevelsSet)
    assert (set(happened[-1].raws), happened[-1].fade_s) == ({"Pan", "Tilt"}, SLOW_S)


def test_light_rises_softly_where_somebody_is() -> None:
    for stage in (aloft(), touched()):
        (_, rise) = done(stage, SetValues("mo", "head", {"Dimmer": 1}))
        assert isinstance(rise, events.LevelsSet)
        assert rise.fade_s == SOFT_S
        (fall,) = done(stage, SetValues("mo", "head", {"Dimmer": 0}))
        assert isinstance(fall, events.LevelsSet)
        assert fall.fade_s == 0


@pytest.mark.parametrize(
    "command",
    [
        Act("ann", "head", "Control1", "Recalibrate", held=True),
        ChangePatch("ann", (replace(RIG["head"], address=21),)),
        ChangePatch("ann", (replace(RIG["head"], position="House"),)),
        ChangePatch("ann", (replace(RIG["spot"], position="Bridge 1", unit="9"),)),
        ChangePatch("ann", (), ("head",)),
        SetSlot("ann", 1, 13, 200),
    ],
)
def test_what_would_move_beside_somebody_aloft_is_refused(command: Command) -> None:
    assert "aloft" in refused(aloft(), command).why


def test_words_of_the_patch_may_change_meanwhile() -> None:
    done(aloft(), ChangePatch("ann", (replace(RIG["head"], purpose="Moon"),)))


def test_a_look_moves_nothing_that_is_held_still() -> None:
    stage = aloft()
    stage.state.recalled["head"] = {"Pan": 1}
    assert stage.state.frozen("head")["Pan"] == 5
    assert "no such look" in refused(stage, RecallLook("ann", "none", 1)).why


def test_what_is_out_of_use_gives_no_light_moves_nowhere_and_is_driven_by_nobody() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "head", {"Dimmer": 0.5}))
    assert refused(stage, TagOut("mo", "head", "lamp")).why == (
        "21 (Bridge 1 unit 3) is asked for light. Take it to 0 first, then out of use."
    )
    done(stage, LetGo("mo", "head"))
    assert refused(stage, TagOut("mo", "head", " ")).why == "Say in 1 to 100 characters why."
    (out,) = done(stage, TagOut("mo", "head", " lamp  change ", leaving={"head": {"Pan": 5}}))
    assert out == events.OutOfUseSet("mo", "head", "lamp change", {**FROZEN, "Dimmer": 0})
    for command in (
        SetValues("ann", "head", {"Dimmer": 1}),
        LightUp("ann", "head"),
        Take("ann", "head", over=True),
    ):
        assert refused(stage, command).why == (
            "21 (Bridge 1 unit 3) is out of use (lamp change; Mo): nobody drives it until that is taken back."
        )
    assert "its patch stays" in refused(stage, ChangePatch("ann", (), ("head",))).why
    assert "its patch stays" in refused(stage, ChangePatch("ann", (replace(RIG["head"], address=99),))).why
    stage.state.recalled["head"] = {"Dimmer": 65535, "Pan": 1}
    assert stage.state.frozen("head") == {**FROZEN, "Dimmer": 0}


def test_in_use_again_by_who_took_it_out_or_by_the_lead() -> None:
    stage = stage_with()
    done(stage, TagOut("mo", "head", "lamp"))
    assert refused(stage, TagOut("kit", "head", None)).why == "Mo took it out of use. Ask them, or the lead."
    done(stage, TagOut("mo", "head", None))
    assert done(stage, TagOut("mo", "head", None)) == []
    done(stage, TagOut("mo", "head", "lamp"))
    done(stage, TagOut("ann", "head", None))
    assert stage.state.out_of_use == {}


def test_power_that_feeds_a_unit_under_repair_is_not_armed() -> None:
    stage = stage_with()
    done(stage, TagOut("mo", "pump", "somebody repairs what it feeds"))
    assert refused(stage, Arm("ann", "pump", "test")).why == "42 is out of use: it is not armed meanwhile."
    done(stage, TagOut("mo", "pump", None))
    done(stage, Arm("ann", "pump", "test"))
    done(stage, TagOut("mo", "pump", "a repair after all"))
    assert "out of use" in refused(stage, RunGuarded("ann", "pump", {"Dimmer": 1}, 1, True)).why


def test_house_staff_take_house_fixtures_out_of_use() -> None:
    stage = stage_with()
    done(stage, TagOut("hal", "aisle", "loose clamp"))
    assert "Tell the lead" in refused(stage, TagOut("hal", "head", "loose clamp")).why
    assert refused(stage, TagOut("mo", "nobody", "lamp")).fixture == "nobody"


def test_in_front_of_somebody_it_lights_up_to_half() -> None:
    for stage in (aloft(), touched()):
        lit = done(stage, LightUp("mo", "head"))[-1]
        assert isinstance(lit, events.LevelsSet)
        assert lit.raws["Dimmer"] == 32768


def test_dark_waits_for_everybody_aloft() -> None:
    stage = aloft()
    answer = refused(stage, SetBlackout("ann", True))
    assert (answer.why, answer.ask) == ("Somebody is aloft (Kit). Call dark: it waits for their yes.", "dark")
    assert refused(stage, SetMaster("ann", 0.05)).ask == "dark"
    done(stage, SetMaster("ann", 0.2))
    assert refused(stage, CallDark("mo")).why == "Only the lead can do that."
    assert refused(stage, AnswerDark("kit", True)).why == "Nobody calls dark at the moment."
    done(stage, CallDark("ann"))
    assert refused(stage, CallDark("ann")).why == "Ann has called dark already."
    assert done(stage, AnswerDark("mo", True)) == []
    done(stage, AnswerDark("kit", True))
    assert stage.state.dark is not None
    assert stage.state.dark.agreed == ("kit",)


def test_anybody_says_not_yet_and_it_is_off() -> None:
    stage = aloft()
    done(stage, CallDark("ann"))
    done(stage, AnswerDark("hal", False))
    assert stage.state.dark is not None
    assert stage.state.dark.refused == "hal"
    assert refused(stage, AnswerDark("kit", True)).why == "Nobody calls dark at the moment."
    done(stage, CallDark("ann"))
    assert stage.state.dark.refused is None


def test_light_comes_back_without_asking_anybody() -> None:
    stage = stage_with()
    done(stage, SetBlackout("ann", True))
    done(stage, GoAloft("kit", "Bridge 1"))
    assert done(stage, CallDark("ann")) == []
    done(stage, SetBlackout("mo", False))
