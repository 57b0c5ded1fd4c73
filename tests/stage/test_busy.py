"""Until when a unit is busy, and its lamp has to cool."""

from server.rig.profile import Action
from server.stage import events
from server.stage.busy import busy_until, cools_until
from server.stage.stage import Stage
from tests.rigs import control, function, mode, profile, stage_with, unit

__all__: list[str] = []


def _stage(*asked: tuple[str, float]) -> Stage:
    deeds = (
        function("Reset", 0, 9, name="Recalibrate", action=Action("reset", 3, 0, "It moves.", busy_s=40)),
        function("LampControl", 20, 29, name="Strike", action=Action("lamp_on", 2, 0, "It strikes.")),
        function("LampControl", 30, 39, name="Douse", action=Action("lamp_off", 5, 0, "Out.", lockout_s=360)),
    )
    stage = stage_with(unit("a", "p", 1, mode="m", channel=1))
    stage.state.profiles["p"] = profile("p", mode("m", control("Control1", 1, functions=deeds)))
    stage.happen([events.Acted("mo", "a", "Control1", "", 0, 1.0, kind, at) for kind, at in asked])
    return stage


def test_nothing_was_asked_of_it() -> None:
    assert busy_until(_stage().state, "a") == 0
    assert cools_until(_stage().state, "a") == 0
    assert busy_until(_stage().state, "nobody") == 0


def test_it_is_busy_for_as_long_as_it_is_held_and_as_its_profile_says() -> None:
    assert busy_until(_stage(("reset", 100.0)).state, "a") == 143.0
    assert cools_until(_stage(("reset", 100.0)).state, "a") == 0
    # Whichever lasts longest.
    assert busy_until(_stage(("reset", 100.0), ("lamp_on", 141.5)).state, "a") == 143.5


def test_a_lamp_that_was_put_out_cools() -> None:
    stage = _stage(("lamp_off", 100.0))
    assert (busy_until(stage.state, "a"), cools_until(stage.state, "a")) == (105.0, 460.0)


def test_in_a_mode_that_is_not_known_any_more_it_waits_for_nothing() -> None:
    stage = _stage(("lamp_off", 100.0))
    stage.state.profiles.clear()
    assert (busy_until(stage.state, "a"), cools_until(stage.state, "a")) == (0.0, 100.0)
