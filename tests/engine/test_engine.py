"""The engine: what is asked, followed through to the slots it hands on."""

import asyncio
from collections.abc import Callable, Coroutine
from dataclasses import replace

import pytest

from server.engine import engine as engine_module
from server.engine.engine import Engine
from server.rig.universe import OffLimits
from server.stage import commands, events
from server.stage.decide import Rules
from server.stage.stage import Stage
from server.stage.state import Look, Settings
from tests.engine.rigs import Rig, Sent, levels_set
from tests.shows import LEAD, MO, fixture

__all__: list[str] = []

PAN, DIMMER, COLOR, SHUTTER, CONTROL = (101, 102), (105, 106), 107, 108, 109


def test_the_first_frame_is_the_kept_picture() -> None:
    rig = Rig([events.Taken(MO.id, "mover"), levels_set("mover", Dimmer=40000, Pan=1234)])
    rig.step()
    assert [universe for universe, _ in rig.sent.writes] == [1, 2]
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 3)) == (51, 40)
    assert (rig.sent.pair(DIMMER), rig.sent.pair(PAN)) == (40000, 1234)


def test_without_anything_kept_the_first_frame_is_home() -> None:
    rig = Rig([events.BaselineSet("", None)])
    rig.step()
    assert rig.sent.pair(PAN) == 32768
    assert rig.sent.slot(2, SHUTTER) == 255


def test_the_universes_are_planned_before_their_first_frame_and_only_when_they_change() -> None:
    rig = Rig()
    assert rig.planned == [(1, 2)]
    rig.happen(events.FixturePut("", fixture("more", "dimmer", 2, 1)))
    assert rig.planned == [(1, 2)]
    rig.happen(events.SlotSet(LEAD.id, 7, 1, 9))
    assert rig.planned == [(1, 2), (1, 2, 7)]


def test_an_empty_show_plans_no_universe_so_that_nothing_old_goes_on() -> None:
    planned: list[tuple[int, ...]] = []
    Engine(Stage(Rules()).state, Sent(), lambda: 0.0, planned.append)
    assert planned == [()]


def test_only_what_differs_is_handed_on() -> None:
    rig = Rig()
    rig.step()
    rig.happen(levels_set("dim1", Dimmer=99))
    rig.step()
    rig.step()
    assert [universe for universe, _ in rig.sent.writes] == [1, 2, 1]
    assert rig.sent.wakes == 2


def test_the_hand_wins_over_the_look_and_the_look_over_home() -> None:
    rig = Rig(
        [events.LookSaved("", Look("full", "Full", {"dim1": {"Dimmer": 200}, "dim2": {"Dimmer": 180}}))]
    )
    rig.happen(events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=7))
    rig.happen(events.LookRecalled(LEAD.id, "full", 0.0))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 2)) == (7, 180)
    rig.happen(events.LetGone(MO.id, "dim1", 0.0))
    rig.step(5)
    assert rig.sent.slot(1, 1) == 200
    rig.happen(events.LookRecalled(LEAD.id, "base", 0.0))
    rig.step(5)
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 2)) == (51, 0)
    rig.happen(events.BaselineSet(LEAD.id, None))
    rig.step(5)
    assert rig.sent.slot(1, 1) == 0


def test_a_control_given_back_goes_to_its_base() -> None:
    rig = Rig([events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=7)])
    rig.happen(levels_set("dim1", Dimmer=None))
    rig.step()
    assert rig.sent.slot(1, 1) == 51


def test_letting_go_fades() -> None:
    rig = Rig([events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=251)])
    rig.step()
    rig.happen(events.LetGone(MO.id, "dim1", 2.0))
    levels = []
    for _ in range(5):
        rig.step(0.5)
        levels.append(rig.sent.slot(1, 1))
    assert levels == [201, 151, 101, 51, 51]


def test_a_look_that_asks_for_what_is_on_its_way_does_not_start_that_fade_again() -> None:
    rig = Rig()
    rig.happen(levels_set("dim2", 4.0, Dimmer=200))
    rig.step(2)
    rig.happen(events.LookRecalled(LEAD.id, "base", 10.0))
    rig.step(1)
    assert rig.sent.slot(1, 2) == 150


def test_bare_slots_are_set_and_given_back_also_where_no_fixture_is() -> None:
    rig = Rig()
    rig.happen(events.SlotSet(LEAD.id, 1, 400, 77), events.SlotSet(LEAD.id, 9, 512, 255))
    rig.step()
    assert (rig.sent.slot(1, 400), rig.sent.slot(9, 512)) == (77, 255)
    rig.happen(events.SlotSet(LEAD.id, 1, 400, None))
    rig.step()
    assert rig.sent.slot(1, 400) == 0


def test_blackout_and_master_spare_work_light_and_leave_position_alone() -> None:
    rig = Rig()
    rig.happen(levels_set("mover", Dimmer=65535), events.MasterSet(LEAD.id, 0.5))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 3), rig.sent.pair(DIMMER)) == (26, 40, 32768)
    rig.happen(events.BlackoutSet(LEAD.id, True))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 3), rig.sent.pair(DIMMER)) == (0, 40, 0)
    assert rig.sent.pair(PAN) == 32768
    rig.happen(events.BlackoutSet(LEAD.id, False), events.MasterSet(LEAD.id, 1.0))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.pair(DIMMER)) == (51, 65535)


def test_what_snaps_jumps_while_the_rest_of_a_look_fades() -> None:
    rig = Rig([events.LookSaved("", Look("blue", "Blue", {"mover": {"Color1": 90, "Dimmer": 1000}}))])
    rig.happen(events.LookRecalled(LEAD.id, "blue", 10.0))
    rig.step(1)
    assert (rig.sent.slot(2, COLOR), rig.sent.pair(DIMMER)) == (90, 100)


def test_an_action_is_held_for_its_time_and_then_what_is_asked_returns() -> None:
    rig = Rig()
    rig.happen(events.Acted(LEAD.id, "mover", "Control1", "Recalibrate", 110, 3.0))
    seen = []
    for _ in range(5):
        rig.step(0.9)
        seen.append(rig.sent.slot(2, CONTROL))
    assert seen == [110, 110, 110, 0, 0]
    assert not rig.engine.in_motion


def test_an_action_goes_on_while_the_patch_changes() -> None:
    rig = Rig()
    rig.happen(events.Acted(LEAD.id, "mover", "Control1", "Recalibrate", 110, 3.0))
    rig.happen(events.FixturePut("", fixture("ahead", "dimmer", 2, 1)), events.FixtureRemoved("", "dim1"))
    rig.step(2.9)
    assert rig.sent.slot(2, CONTROL) == 110
    rig.step(0.1)
    assert rig.sent.slot(2, CONTROL) == 0


def test_hands_on_holds_the_value_of_the_moment_also_in_a_fade() -> None:
    rig = Rig([levels_set("mover", Pan=0)])
    rig.happen(levels_set("mover", 10.0, Pan=60000, Dimmer=60000))
    rig.step(1)
    rig.ask(commands.HandsOn(LEAD.id, "mover", True, leaving=rig.engine.leaving(["mover"])))
    rig.step(5)
    assert (rig.sent.pair(PAN), rig.sent.pair(DIMMER)) == (6000, 36000)
    rig.happen(events.FixturePut("", fixture("ahead", "dimmer", 2, 1)))
    rig.step(5)
    assert (rig.sent.pair(PAN), rig.sent.pair(DIMMER)) == (6000, 60000)


def test_after_hands_on_what_was_asked_meanwhile_comes_slowly() -> None:
    rig = Rig([levels_set("mover", Pan=6000), events.SettingsChanged("", Settings(let_go_s=4.0))])
    rig.ask(commands.HandsOn(LEAD.id, "mover", True))
    rig.happen(levels_set("mover", Pan=46000))
    rig.step(5)
    rig.ask(commands.HandsOn(LEAD.id, "mover", False))
    rig.step()
    assert rig.sent.pair(PAN) == 6000
    rig.step(1)
    assert rig.sent.pair(PAN) == 16000
    rig.step(3)
    assert rig.sent.pair(PAN) == 46000


def test_hands_on_ends_an_action_instead_of_holding_it() -> None:
    rig = Rig()
    rig.happen(events.Acted(LEAD.id, "mover", "Control1", "Recalibrate", 110, 3.0))
    rig.step(1)
    rig.ask(commands.HandsOn(LEAD.id, "mover", True))
    rig.step()
    assert rig.sent.slot(2, CONTROL) == 0


def test_hands_on_outlives_a_restart() -> None:
    rig = Rig(
        [
            events.HandsOnSet(MO.id, "mover", {"Pan": 500, "Tilt": 600, "Control1": 0}),
            levels_set("mover", Pan=9),
        ]
    )
    rig.step()
    assert rig.sent.pair(PAN) == 500


def test_a_change_of_the_patch_keeps_fades_going_and_hands_each_universe_on_once() -> None:
    rig = Rig()
    rig.happen(levels_set("dim2", 10.0, Dimmer=200), levels_set("mover", 10.0, Pan=32768 + 1000))
    rig.step(2)
    before = len(rig.sent.writes)
    rig.happen(events.FixtureRemoved("", "dim1"), events.FixturePut("", fixture("new", "dimmer", 1, 50)))
    rig.step()
    assert [universe for universe, _ in rig.sent.writes[before:]] == [1, 2]
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 2), rig.sent.pair(PAN)) == (0, 40, 32968)
    rig.step(3)
    assert (rig.sent.slot(1, 2), rig.sent.pair(PAN)) == (100, 33268)


def test_a_fixture_given_another_address_takes_its_levels_along() -> None:
    rig = Rig()
    rig.step()
    rig.happen(events.FixturePut("", replace(fixture("dim1", "dimmer", 1, 1), address=300)))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 300)) == (0, 51)


def test_levels_and_slots_read_right_at_once_after_a_change_of_the_patch() -> None:
    rig = Rig()
    rig.step()
    rig.happen(events.FixturePut("", fixture("new", "dimmer", 1, 50)))
    level = dict(zip(rig.engine.rig.span, rig.engine.intensities, strict=True))
    assert level["dim1"] == 51 / 255
    assert rig.engine.frame[0][0] == 51


def test_guarded_units_stay_at_their_safe_value_whatever_the_events_say() -> None:
    rig = Rig()
    rig.happen(levels_set("hazer", Fog1=255), events.Taken(MO.id, "hazer"), events.MasterSet(LEAD.id, 1.0))
    rig.step()
    assert rig.sent.slot(1, 10) == 0


def test_slots_off_limits_are_nought_and_a_universe_wholly_off_limits_is_never_handed_on() -> None:
    limits = (OffLimits(1, 1, 2, "exit signs"), OffLimits(2, 1, 512, "hoists"))
    rig = Rig([events.SlotSet(LEAD.id, 1, 2, 255)], limits)
    rig.happen(levels_set("dim1", Dimmer=255), levels_set("mover", Dimmer=65535))
    rig.step()
    assert rig.sent.picture(1)[:3] == bytes([0, 0, 40])
    assert {universe for universe, _ in rig.sent.writes} == {1}


def test_a_touch_leaves_in_the_same_turn_and_those_right_behind_it_together() -> None:
    rig = Rig()
    rig.step()
    rig.now += 1
    before = len(rig.sent.writes)
    rig.happen(levels_set("dim1", Dimmer=99))
    assert rig.sent.slot(1, 1) == 99
    for raw in range(100, 120):
        rig.happen(levels_set("dim1", Dimmer=raw))
    assert len(rig.sent.writes) == before + 1
    assert rig.engine.unsettled
    rig.step(0.01)
    assert rig.sent.slot(1, 1) == 119


def test_both_slots_of_a_wide_control_always_leave_together() -> None:
    rig = Rig([levels_set("mover", Pan=255)])
    rig.step()
    for raw, fade_s in [(256, 0.0), (255, 0.0), (256, 1.0), (255, 1.0)] * 3:
        rig.happen(levels_set("mover", fade_s, Pan=raw))
        for _ in range(10):
            rig.step(0.15)
    pans = {256 * slots[100] + slots[101] for universe, slots in rig.sent.writes if universe == 2}
    assert pans == {255, 256}


def _running(rig: Rig, then: Callable[[Engine], Coroutine[None, None, None]]) -> None:
    """Let an engine run on a real loop while `then` does."""

    async def main() -> None:
        engine = rig.engine = Engine(
            rig.stage.state, rig.sent, asyncio.get_running_loop().time, rig.planned.append
        )
        running = asyncio.create_task(engine.run())
        await then(engine)
        running.cancel()
        await asyncio.gather(running, return_exceptions=True)

    asyncio.run(main())


async def _until(true: Callable[[], bool]) -> None:
    async with asyncio.timeout(10):
        while not true():  # noqa: ASYNC110 (nobody says when a frame has left)
            await asyncio.sleep(0.001)


async def _faded(rig: Rig, engine: Engine, raw: int) -> int:
    """Fade dim2 there within 0.3 s; how many levels it took."""
    before = len(rig.sent.writes)
    rig.happen(levels_set("dim2", 0.3, Dimmer=raw))
    await _until(lambda: rig.sent.slot(1, 2) == raw and not engine.unsettled)
    levels = [slots[1] for universe, slots in rig.sent.writes[before:] if universe == 1]
    assert levels == sorted(levels, reverse=levels[0] > raw)
    assert len(set(levels)) <= 16
    return len(set(levels))


def test_running_it_hands_on_what_is_asked_and_follows_a_fade_to_its_end() -> None:
    rig = Rig()

    async def then(engine: Engine) -> None:
        await _until(lambda: len(rig.sent.writes) == 2)
        rig.happen(levels_set("dim1", Dimmer=99))
        await _until(lambda: rig.sent.slot(1, 1) == 99)
        # 44 Hz for 0.3 s is 13 frames. A machine that stands still makes one fade a jump, not all of them.
        for raw in (200, 51) * 10:
            if (levels := await _faded(rig, engine, raw)) > 3:
                break
        assert levels > 3

    _running(rig, then)


def test_a_frame_that_cannot_be_made_leaves_the_last_one_out_is_told_and_tried_again(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(engine_module, "RETRY_S", 0.01)
    rig = Rig()

    async def then(engine: Engine) -> None:
        await _until(lambda: len(rig.sent.writes) == 2)
        rig.sent.failures = 1
        rig.happen(levels_set("dim1", Dimmer=99))
        await _until(lambda: engine.trouble is not None)
        assert "no room" in str(engine.trouble)
        assert rig.sent.slot(1, 1) == 51
        await _until(lambda: rig.sent.slot(1, 1) == 99)
        assert engine.trouble is None

    _running(rig, then)
    assert [record.message for record in caplog.records] == ["a frame could not be made"]


def test_what_is_asked_after_a_quiet_moment_leaves_before_took_returns() -> None:
    rig = Rig()
    rig.now += 1.0
    rig.happen(levels_set("dim1", Dimmer=99))
    assert rig.sent.slot(1, 1) == 99
    rig.happen(levels_set("dim1", Dimmer=98))  # and what follows within a breath leaves together
    assert rig.sent.slot(1, 1) == 99
    assert rig.engine.unsettled


def test_after_a_frame_that_took_long_the_next_waits_no_longer_than_half_a_frame(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rig = Rig()
    rig.now += 1.0

    def slow(universe: int, slots: bytes, each: bytes = b"") -> None:
        rig.now += 0.02
        rig.sent.writes.append((universe, slots))

    monkeypatch.setattr(rig.sent, "write", slow)
    rig.happen(levels_set("dim1", Dimmer=99))
    rig.happen(levels_set("dim1", Dimmer=98))  # after 20 ms, where a console's next frame comes after 22.7
    assert rig.sent.slot(1, 1) == 98
