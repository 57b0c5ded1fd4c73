"""A change of the patch as it leaves: levels go with their fixture, and no slot carries somebody else's."""

from dataclasses import replace
from itertools import pairwise

import pytest

from server.engine.engine import LEAVES_S
from server.rig.patch import Fixture
from server.rig.profile import Control, Function, Mode
from server.stage import commands, events
from tests.engine.rigs import Rig, levels_set
from tests.shows import LEAD, MO, PROFILES

__all__: list[str] = []


def lit() -> Rig:
    """dim1 at 200 and dim2 at 90 on 1.1 and 1.2, in hand; the mover at 40000, aimed, on 2.101."""
    rig = Rig([events.PersonJoined("", LEAD), events.PersonJoined("", MO)])
    rig.happen(*(events.Taken(MO.id, name) for name in ("dim1", "dim2", "mover")))
    rig.happen(levels_set("dim1", Dimmer=200), levels_set("dim2", Dimmer=90))
    rig.happen(levels_set("mover", Dimmer=40000, Pan=1234))
    rig.step(1.0)
    rig.sent.writes.clear()
    return rig


def _fine(key: str) -> Control:
    return Control(key, key, (1, 2), 0, 0, (Function(key, key, 0, 65535),), mastered=True)


def moved(rig: Rig, name: str, **fields: object) -> Fixture:
    return replace(rig.stage.state.fixtures[name], **fields)  # type: ignore[arg-type]


def pictures(rig: Rig, universe: int) -> list[bytes]:
    """Every frame of that universe since, also what fades and what is only handed on again."""
    for _ in range(100):
        rig.step(1 / 44)
    return [slots for number, slots in rig.sent.writes if number == universe]


def test_a_moved_fixture_leaves_its_old_slots_in_the_frame_in_which_it_lights_the_new_ones() -> None:
    rig = lit()
    assert rig.ask(commands.ChangePatch(LEAD.id, (moved(rig, "dim1", address=50),)))
    frames = pictures(rig, 1)
    assert frames
    assert {(frame[0], frame[49], frame[1]) for frame in frames} == {(0, 200, 90)}


def test_two_that_swap_addresses_never_show_the_others_level() -> None:
    rig = lit()
    swapped = moved(rig, "dim1", address=2), moved(rig, "dim2", address=1)
    assert rig.ask(commands.ChangePatch(LEAD.id, swapped))
    assert {(frame[0], frame[1]) for frame in pictures(rig, 1)} == {(90, 200)}


def test_every_slot_of_a_moved_head_goes_with_it_whole() -> None:
    rig = lit()
    old = rig.engine.frame[rig.engine.rig.universes.index(2)].tobytes()[100:109]
    # Overlapping its own former slots, so that each slot would be somebody else's for a moment.
    assert rig.ask(commands.ChangePatch(LEAD.id, (moved(rig, "mover", address=104),)))
    frames = pictures(rig, 2)
    assert frames
    assert {frame[103:112] for frame in frames} == {old}
    assert {frame[100:103] for frame in frames} == {bytes(3)}


def test_a_fade_under_way_goes_on_at_the_new_address_from_where_it_was() -> None:
    rig = lit()
    rig.happen(levels_set("dim1", 2.0, Dimmer=0))
    rig.step(1.0)
    half = rig.sent.slot(1, 1)
    assert half == 100
    rig.sent.writes.clear()
    assert rig.ask(commands.ChangePatch(LEAD.id, (moved(rig, "dim1", address=50),)))
    levels = [frame[49] for frame in pictures(rig, 1)]
    assert levels[0] == half
    assert levels == sorted(levels, reverse=True)
    assert levels[-1] == 0


def test_a_fade_under_way_goes_on_in_another_mode_from_the_share_it_had() -> None:
    modes = *PROFILES["dimmer"].modes, Mode("2", 2, (_fine("Dimmer"),))
    rig = Rig(
        [events.PersonJoined("", LEAD), events.ProfileAdded("", replace(PROFILES["dimmer"], modes=modes))]
    )
    rig.ask(commands.ChangePatch(LEAD.id, (moved(rig, "dim2", address=20), moved(rig, "work", address=30))))
    rig.happen(events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=0))
    rig.step(1.0)
    rig.happen(levels_set("dim1", 2.0, Dimmer=200))
    rig.step(1.0)
    assert rig.sent.slot(1, 1) == 100
    rig.sent.writes.clear()
    assert rig.ask(commands.ChangePatch(LEAD.id, (moved(rig, "dim1", mode="2"),)))
    levels = [256 * frame[0] + frame[1] for frame in pictures(rig, 1)]
    # 100 and 200 of 255 are 25700 and 51400 of 65535.
    assert 25700 <= levels[0] < 27000
    assert levels == sorted(levels)
    assert levels[-1] == 51400


@pytest.mark.parametrize(
    "place", [{"universe": 1, "address": 300}, {"universe": None, "address": None}, None]
)
def test_a_universe_that_its_last_fixture_leaves_hears_0_before_it_ends(place: dict[str, int] | None) -> None:
    rig = lit()
    rig.happen(events.LetGone(MO.id, "mover", 0.0), levels_set("mover", Dimmer=40000))
    put = () if place is None else (moved(rig, "mover", **place),)
    assert rig.ask(commands.ChangePatch(LEAD.id, put, ("mover",)))
    rig.step()
    assert rig.sent.picture(2) == bytes(512)
    assert rig.planned == [(1, 2)], "it is still there to be heard"
    assert rig.engine.in_motion
    rig.step(LEAVES_S)
    assert rig.planned[1:] == [(1,)]
    assert not rig.engine.in_motion


def test_a_universe_that_somebody_comes_back_to_goes_on() -> None:
    rig = lit()
    there = moved(rig, "mover")
    assert rig.ask(commands.ChangePatch(LEAD.id, (replace(there, universe=1, address=300),)))
    rig.step(LEAVES_S / 2)
    assert rig.ask(commands.ChangePatch(LEAD.id, (there,)))
    rig.step(LEAVES_S)
    assert rig.planned == [(1, 2)]
    assert rig.sent.pair((105, 106)) == 40000


def test_a_change_of_the_patch_forgets_no_flash_that_has_begun() -> None:
    """WCAG 2.2, 2.3.1: each fall that follows a rise within a second, or the reverse, makes a flash of it."""
    rig = lit()
    levels: list[tuple[float, int]] = []
    for frame in range(132):
        rig.now += 1 / 44
        rig.happen(levels_set("dim1", Dimmer=255 * (frame // 2 % 2)))
        if frame % 2:  # between any two turns, for the limit to forget the first of them
            assert rig.ask(commands.ChangePatch(LEAD.id, (moved(rig, "dim1", purpose=f"{frame}"),)))
        rig.step()
        levels.append((rig.now, rig.sent.slot(1, 1)))
    turned = [now for (_, before), (now, level) in pairwise(levels) if before != level]
    assert len(turned) > 6  # it flashed for as long as it may
    # The first turn completes nothing; after that each one does.
    assert max(sum(start <= other < start + 1 for other in turned[1:]) for start in turned[1:]) == 3


def test_a_light_that_is_held_stays_held_in_another_mode() -> None:
    fine = Mode("fine", 2, (_fine("Dimmer"),))
    dimmer = replace(PROFILES["dimmer"], modes=(*PROFILES["dimmer"].modes, fine))
    rig = lit()
    rig.happen(events.ProfileAdded("", dimmer))
    rig.step()
    for frame in range(12):
        rig.happen(levels_set("dim1", Dimmer=255 * (frame % 2)))
        rig.step(1 / 44)
    held = rig.sent.slot(1, 1)
    asked = 255 - held
    rig.happen(levels_set("dim1", Dimmer=asked))
    rig.step(1 / 44)
    assert rig.sent.slot(1, 1) == held
    assert rig.ask(commands.ChangePatch(LEAD.id, (moved(rig, "dim1", mode="fine", address=50),)))
    assert (rig.sent.slot(1, 50), rig.sent.slot(1, 51)) == (held, held)
    rig.step(1.0)
    assert (rig.sent.slot(1, 50), rig.sent.slot(1, 51)) == (asked, asked)
