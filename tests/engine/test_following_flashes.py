"""A console that is followed may flash: it takes none of our flashes, and hides none."""

from itertools import pairwise

from server.stage import events
from server.stage.flashing import rate_of
from tests.engine.heard import following
from tests.engine.rigs import Rig, levels_set
from tests.shows import MO

__all__: list[str] = []

SHUTTER = 108


def test_a_flashing_console_takes_nothing_of_the_flashes_that_are_ours_and_is_not_held() -> None:
    rig, desk = following()
    rig.happen(events.Taken(MO.id, "dim2"))
    for turn in range(20):
        level = 255 * (turn % 2)
        sent = desk.drive(1, {1: level, 2: 255 - level, 3: level}, rig.engine)
        rig.step(0.05)
        assert rig.sent.picture(1) == sent
    assert not rig.engine.in_motion
    alone = Rig()
    alone.step()
    seen, as_ever = list[int](), list[int]()
    for turn in range(40):  # ours: as many as there may be without a console, and no more
        desk.drive(1, {1: 255 * (turn % 2)}, rig.engine)
        for one, levels in ((rig, seen), (alone, as_ever)):
            one.happen(levels_set("dim2", Dimmer=255 * (turn % 2)))
            one.step(0.05)
            levels.append(one.sent.slot(1, 2))
    assert seen == as_ever
    assert 3 <= sum(after != before for before, after in pairwise(seen)) <= 15


def test_giving_back_and_taking_in_turn_is_flashing_too() -> None:
    rig, desk = following()
    desk.drive(1, {2: 0}, rig.engine)
    rig.step(5)
    rig.happen(events.Taken(MO.id, "dim2"))
    seen = []
    for turn in range(20):
        rig.happen(levels_set("dim2", Dimmer=None if turn % 2 else 255))
        rig.step(0.05)
        seen.append(rig.sent.slot(1, 2))
    assert sum(after != before for before, after in pairwise(seen)) <= 8
    rig.happen(levels_set("dim2", Dimmer=None))
    rig.step(1.1)
    rig.step(1.1)
    assert rig.sent.slot(1, 2) == 0


def test_a_strobe_of_ours_on_a_mode_of_the_consoles_does_not_flash() -> None:
    rig, desk = following()
    desk.drive(2, {SHUTTER: 40}, rig.engine)
    rig.happen(events.Taken(MO.id, "mover"), levels_set("mover", Shutter1=30))
    rig.step()
    assert rig.sent.slot(2, SHUTTER) >= 128


def test_what_a_console_strobes_is_none_of_the_flashes_that_people_asked_for() -> None:
    rig, desk = following()
    rig.happen(events.Taken(MO.id, "mover"), events.FlashAsked(MO.id, "mover"))
    desk.drive(2, {SHUTTER: 127}, rig.engine)
    rig.step()
    assert rig.sent.slot(2, SHUTTER) == 127
    assert rate_of(rig.stage.state, "mover") == 0
    rig.happen(levels_set("mover", Shutter1=100))
    assert rate_of(rig.stage.state, "mover") > 0
