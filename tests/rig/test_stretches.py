"""The picture of a universe: who has which slots, what is kept, and what a plan adds."""

from server.rig.stretches import Stretch, stretches
from server.rig.universe import OffLimits, Reserved
from tests.rigs import control, mode, profile, unit

__all__: list[str] = []

PROFILES = {"s10": profile("s10", mode("m", control("Dimmer", 10)))}
KEPT = (OffLimits(1, 20, 60, "aisle"), Reserved(1, 500, 512, "visitors"), Reserved(2, 1, 9, "others"))


def test_all_of_one_universe_is_told_by_slot() -> None:
    there = [unit("there", "s10", 5, mode="m"), unit("bare", "s10", None, mode="m")]
    planned = [unit("new", "s10", 61, mode="m")]
    assert stretches(1, planned, there, PROFILES, KEPT) == [
        Stretch(5, 14, "taken", fixture="there"),
        Stretch(20, 60, "off_limits", "aisle"),
        Stretch(61, 70, "planned", fixture="new"),
        Stretch(500, 512, "reserved", "visitors"),
    ]
    assert stretches(3, planned, there, PROFILES, KEPT) == []


def test_what_sticks_out_ends_with_the_universe_and_an_unknown_mode_has_no_slots() -> None:
    there = [unit("late", "s10", 510, mode="m"), unit("odd", "s10", 1, mode="?")]
    assert stretches(1, (), there, PROFILES, ()) == [Stretch(510, 512, "taken", fixture="late")]
