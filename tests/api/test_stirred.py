"""What a console moves, told a little at a time, and all of it in the end."""

from server.api.stirred import EVERY_S, MOST, Stirred
from server.stage import events
from tests.engine.heard import Desk, shared
from tests.engine.rigs import Rig
from tests.shows import MO, fixture

__all__: list[str] = []

UNIVERSES = range(11, 15)


def _rig() -> tuple[Rig, Desk]:
    """Four universes full of dimmers that follow a console."""
    desk = Desk()
    for universe in UNIVERSES:
        desk.drive(universe, bytes(512))
    dimmers = [
        events.FixturePut("", fixture(f"d{universe}-{at}", "dimmer", universe, at))
        for universe in UNIVERSES
        for at in range(1, 513)
    ]
    rig = Rig([*dimmers, *map(shared, UNIVERSES)], heard=desk)
    rig.step()
    return rig, desk


def test_a_console_that_moves_everything_is_told_at_a_bounded_rate_those_in_hand_first() -> None:
    rig, desk = _rig()
    stirred, told, turns = Stirred(), set[str](), 0
    rig.happen(events.Taken(MO.id, "d14-512"))
    while rig.engine.stirred.any() and turns < 100:
        picked = stirred.pick(rig.engine, rig.stage.state, turns * EVERY_S)
        assert sum(map(len, picked.values())) <= MOST
        assert turns or next(iter(picked)) == "d14-512"
        assert not stirred.pick(rig.engine, rig.stage.state, (turns + 0.9) * EVERY_S)
        told |= picked.keys()
        turns += 1
    assert len(told) == 4 * 512
    assert turns == 6  # 2,048 values, 400 at a time

    # What moves meanwhile is told again, and each gets its turn although the first ones go on moving.
    told.clear()
    for turn in range(turns, turns + 7):
        for universe in UNIVERSES:
            desk.drive(universe, bytes([turn]) * 512, rig.engine)
        rig.step(EVERY_S)
        picked = stirred.pick(rig.engine, rig.stage.state, turn * EVERY_S)
        told |= picked.keys()
        assert "d14-512" in picked
    assert len(told) == 4 * 512


def test_what_stands_still_is_told_once() -> None:
    rig, desk = _rig()
    stirred = Stirred()
    for turn in range(6):
        stirred.pick(rig.engine, rig.stage.state, turn * EVERY_S)
    desk.drive(11, bytes([7]) + bytes(511), rig.engine)
    rig.step()
    assert stirred.pick(rig.engine, rig.stage.state, 10.0) == {"d11-1": {"Dimmer"}}
    rig.step()
    assert stirred.pick(rig.engine, rig.stage.state, 20.0) == {}
