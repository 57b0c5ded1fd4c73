"""How fast fixtures flash by themselves, and how fast they may."""

from server.stage.commands import LetGo, LiftFlashes, SetValues
from server.stage.flashing import flashes_of_others, rate_of
from tests.rigs import control, done, function, mode, profile, refused, stage_with, unit

__all__: list[str] = []

BLIND = function("Shutter1Strobe", name="Strobe")


def test_three_flashes_a_second_are_of_the_whole_rig() -> None:
    stage = stage_with(unit("a", "head", 1, channel=1), unit("b", "head", 11, channel=2))
    done(stage, SetValues("mo", "a", {"Shutter1": {"raw": 134}}, held=True))
    why = refused(stage, SetValues("kit", "b", {"Shutter1": {"physical": 1.5}}, held=True)).why
    assert why == "Other fixtures flash already: 3 flashes a second in the whole rig."
    done(stage, SetValues("kit", "b", {"Shutter1": {"raw": 128}}, held=True))
    done(stage, LetGo("mo", "a"))
    done(stage, SetValues("kit", "b", {"Shutter1": {"raw": 140}}))


def test_the_one_the_lead_has_lifted_stays_under_five() -> None:
    stage = stage_with()
    done(stage, LiftFlashes("ann", "head"))
    done(stage, SetValues("mo", "head", {"Shutter1": {"physical": 4.5}}, held=True))
    why = refused(stage, SetValues("mo", "head", {"Shutter1": {"physical": 6}}, held=True)).why
    assert why == "Strobe stays under 5 flashes a second."


def test_what_nobody_knows_the_speed_of_stays_open() -> None:
    stage = stage_with(unit("a", "p", mode="m"))
    stage.state.profiles["p"] = profile("p", mode("m", control("Shutter1", 1, functions=(BLIND,))))
    why = refused(stage, SetValues("mo", "a", {"Shutter1": 1}, held=True)).why
    assert why == "How fast Strobe flashes is not known, so it stays open."


def test_the_rate_is_what_is_asked_for_now() -> None:
    stage = stage_with()
    assert rate_of(stage.state, "head") == 0
    assert rate_of(stage.state, "nobody") == 0
    done(stage, SetValues("mo", "head", {"Shutter1": {"raw": 128}}, held=True))
    assert rate_of(stage.state, "head") == 1
    assert flashes_of_others(stage.state, "spot") == 1
    assert flashes_of_others(stage.state, "head") == 0
    done(stage, LiftFlashes("ann", "head"))
    assert flashes_of_others(stage.state, "spot") == 0
