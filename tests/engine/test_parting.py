"""Light on slots that a new show leaves empty goes as softly as any other, in the frames that leave."""

from itertools import pairwise

import numpy as np
import pytest

from server.engine.engine import LEAVES_S
from server.rig.universe import OffLimits
from server.stage import events
from server.stage.carried import Carried, carried
from server.stage.state import State
from tests.engine.rigs import Rig, levels_set
from tests.shows import LEAD, MO, PROFILES, fixture

__all__: list[str] = []

FADE_S = 2.0
FRAME = 1 / 44


def _new(*units: str) -> Carried:
    """A show with one dimmer far away, and those on slots of the old one that are named."""
    places = {"a": ("dimmer", 1, 1), "m": ("mover", 2, 101)}
    there = [fixture("far", "dimmer", 9, 1), *(fixture(name, *places[name]) for name in units)]
    return carried(State(profiles=dict(PROFILES), fixtures={each.id: each for each in there}))


def _lit(*more: events.Event, off_limits: tuple[OffLimits, ...] = ()) -> Rig:
    """dim2 at 200 of 255, work at 40, slot 1.300 at 99 by hand; the mover up and turned, its wheel at 7."""
    up = [
        *(events.Taken(LEAD.id, unit) for unit in ("dim2", "mover")),
        levels_set("dim2", Dimmer=200),
        levels_set("mover", Dimmer=60000, Pan=10000, Color1=7),
        events.SlotSet(LEAD.id, 1, 300, 99),
    ]
    rig = Rig([*up, *more], off_limits)
    rig.step()
    rig.step(1.0)
    return rig


def _replaced(rig: Rig, show: Carried, *then: events.Event) -> None:
    """Every frame of the fade and a little more is in `rig.sent` afterwards."""
    rig.sent.writes.clear()
    rig.happen(events.ShowReplaced(LEAD.id, show, FADE_S))
    if then:
        rig.sent.writes.clear()
        rig.happen(*then)
    for _ in range(int((FADE_S + LEAVES_S) / FRAME) + 2):
        rig.step(FRAME)


def _seen(rig: Rig, universe: int, slot: int) -> list[int]:
    return [slots[slot - 1] for number, slots in rig.sent.writes if number == universe]


def _wide(rig: Rig, slot: int) -> list[int]:
    return [256 * high + low for high, low in zip(_seen(rig, 2, slot), _seen(rig, 2, slot + 1), strict=True)]


@pytest.mark.parametrize(("slot", "level"), [(2, 200), (1, 51), (3, 40), (300, 99)])
def test_no_level_falls_faster_than_the_fade(slot: int, level: int) -> None:
    rig = _lit()
    assert rig.sent.slot(1, slot) == level
    _replaced(rig, _new())
    seen = _seen(rig, 1, slot)
    assert seen[0] == level
    assert seen[-1] == 0
    steepest = level * FRAME / FADE_S + 1
    assert all(0 <= before - after <= steepest for before, after in pairwise(seen))
    assert any(abs(after - level / 2) <= 1 for after in seen)


def test_coarse_and_fine_go_together_and_what_snaps_stays_until_the_light_is_gone() -> None:
    rig = _lit()
    assert (rig.sent.pair((105, 106)), rig.sent.slot(2, 107), rig.sent.slot(2, 108)) == (60000, 7, 255)
    _replaced(rig, _new())
    for slot, begins in ((105, 60000), (101, 10000)):
        seen = _wide(rig, slot)
        assert seen[0] == begins
        assert all(0 <= before - after <= begins * FRAME / FADE_S + 1 for before, after in pairwise(seen))
        assert seen[-1] == 0
    light, wheel, shutter = _wide(rig, 105), _seen(rig, 2, 107), _seen(rig, 2, 108)
    assert {*zip(wheel, shutter, strict=True)} == {(7, 255), (0, 0)}
    assert all(level < 1000 for level, still in zip(light, wheel, strict=True) if still == 0)


def test_where_a_fixture_of_the_new_show_takes_over_only_its_own_light_counts() -> None:
    rig = _lit()
    _replaced(rig, _new("a"), events.Taken(LEAD.id, "a"), levels_set("a", Dimmer=255))
    assert set(_seen(rig, 1, 1)) == {255}
    assert 196 <= _seen(rig, 1, 2)[0] <= 200, "the next frame"


def test_a_universe_that_goes_is_heard_at_0_before_it_ends() -> None:
    rig = _lit()
    _replaced(rig, _new())
    assert rig.planned[-1] == (9,)
    assert rig.sent.picture(2) == bytes(512)
    rig.happen()
    assert not rig.engine.in_motion


def test_blackout_takes_it_at_once_but_for_work_light_and_the_master_dims_it() -> None:
    rig = _lit()
    _replaced(rig, _new(), events.BlackoutSet(LEAD.id, True))
    assert set(_seen(rig, 1, 2)) == {0}
    assert 39 <= _seen(rig, 1, 3)[0] <= 40
    rig = _lit()
    _replaced(rig, _new(), events.MasterSet(LEAD.id, 0.5))
    assert 98 <= _seen(rig, 1, 2)[0] <= 100
    assert _seen(rig, 1, 3)[0] == 40


def test_what_is_guarded_strobes_or_acts_ends_at_once_and_off_limits_stays_at_0() -> None:
    rig = _lit(off_limits=(OffLimits(1, 2, 2, "aisle"),))
    rig.happen(events.ArmedSet(LEAD.id, "hazer", "Test", rig.now, rig.now + 60.0))
    rig.happen(events.Ran(LEAD.id, "hazer", {"Fog1": 180}, 1, rig.now, rig.now, 10.0))
    rig.happen(events.Acted(MO.id, "mover", "Control1", "Recalibrate", 110, 30.0))
    rig.happen(events.FlashAsked(LEAD.id, "mover"), levels_set("mover", Shutter1=60))
    rig.step(0.1)
    assert (rig.sent.slot(1, 10), rig.sent.slot(2, 109)) == (180, 110)
    _replaced(rig, _new())
    assert set(_seen(rig, 1, 10)) == set(_seen(rig, 2, 109)) == set(_seen(rig, 1, 2)) == {0}
    assert all(level >= 128 or level == 0 for level in _seen(rig, 2, 108))


def test_colours_that_a_virtual_intensity_scales_go_from_where_they_are() -> None:
    from server.engine.parting import part
    from server.rig.compiled import compile_rig
    from server.rig.levels import UNSET, slots_of
    from tests.rigs import PROFILES as RIG_PROFILES
    from tests.rigs import unit

    before = compile_rig([unit("wash", "wash", 31)], RIG_PROFILES)
    raw = np.zeros(len(before.names), np.int64)
    for key, level in (("Dimmer", 65535), ("ColorAdd_R", 80), ("ColorAdd_G", 40)):
        raw[before.row["wash", key]] = level
    none = np.full((1, 512), UNSET, np.int16)
    gone = part(before, raw, slots_of(before, raw, none), [], 0.5, 0.0, 2.0)
    empty = compile_rig([], {}, before.universes)
    for master, at, wanted in ((0.5, 0.0, (80, 40)), (0.25, 1.0, (20, 10)), (None, 0.0, (0, 0))):
        frame = np.zeros((1, 512), np.uint8)
        gone.lay_under(frame, empty, none, at, master)
        assert (frame[0, 30], frame[0, 31]) == wanted
