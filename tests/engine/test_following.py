"""Following a console: what it sends is copied, what is ours lies on top, and no slot jumps in between."""

from itertools import pairwise

import pytest

from server.rig.universe import OffLimits
from server.stage import commands, events
from server.stage.commands_shared import Share
from server.stage.shared import Join
from server.stage.state import Look, Settings
from tests.engine.heard import CHASE, Desk, following, shared
from tests.engine.rigs import Rig, levels_set
from tests.shows import LEAD, MO, fixture

__all__: list[str] = []

LET_GO_S = 2.0  # Settings.let_go_s
PAN, TILT, DIMMER, COLOR, SHUTTER, CONTROL = (101, 102), (103, 104), (105, 106), 107, 108, 109


def _slots(rig: Rig, universe: int, seconds: float, slot: int) -> list[int]:
    """That slot in each frame of so many seconds."""
    seen = []
    for _ in range(round(seconds * 20)):
        rig.step(0.05)
        seen.append(rig.sent.slot(universe, slot))
    return seen


def _soft(levels: list[int], most: int) -> bool:
    return all(abs(after - before) <= most for before, after in pairwise(levels))


def test_what_is_in_nobodys_hand_is_the_consoles_octet_by_octet() -> None:
    rig, desk = following()
    assert rig.sent.picture(1) == rig.sent.picture(2) == CHASE
    new = desk.drive(2, bytes(reversed(CHASE)), rig.engine)
    rig.step()
    assert rig.sent.picture(2) == new
    assert rig.sent.picture(1) == CHASE


def test_guards_caps_and_strobes_of_a_console_are_its_own() -> None:
    rig, desk = following()
    sent = desk.drive(1, {10: 255, 1: 200, 400: 9}, rig.engine)
    moving = desk.drive(2, {SHUTTER: 40, CONTROL: 110}, rig.engine)
    rig.step()
    assert rig.sent.picture(1) == sent
    assert rig.sent.picture(2) == moving


def test_a_hand_has_what_it_set_and_the_console_the_rest_of_the_unit() -> None:
    rig, desk = following()
    rig.happen(events.Taken(MO.id, "mover"))
    rig.step()
    assert rig.sent.picture(2) == CHASE
    rig.happen(levels_set("mover", Pan=4660))
    rig.step()
    assert rig.sent.pair(PAN) == 4660
    new = desk.drive(2, bytes(reversed(CHASE)), rig.engine)
    rig.step()
    assert rig.sent.pair(PAN) == 4660
    assert rig.sent.picture(2)[:100] + rig.sent.picture(2)[102:] == new[:100] + new[102:]


def test_letting_go_fades_to_where_the_console_is_by_then_and_is_passed_through_after() -> None:
    rig, desk = following()
    desk.drive(1, {1: 100}, rig.engine)
    rig.happen(events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=200))
    rig.step()
    rig.happen(events.LetGone(MO.id, "dim1", LET_GO_S))
    first = _slots(rig, 1, 1, 1)
    desk.drive(1, {1: 0}, rig.engine)  # half way: from 150 it goes on from where a fade to 0 would be
    last = _slots(rig, 1, 1, 1)
    assert first[-1] == 150
    assert (last[0], last[-1]) == (95, 0)
    rig.happen(events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=77))
    rig.step()
    assert rig.sent.slot(1, 1) == 77
    desk.drive(1, {1: 31}, rig.engine)
    rig.step()
    assert rig.sent.slot(1, 1) == 77


def test_a_bare_slot_set_by_hand_is_ours_until_it_is_given_back() -> None:
    rig, _ = following()
    rig.happen(events.SlotSet(LEAD.id, 1, 400, 5))
    rig.step()
    assert rig.sent.picture(1) == CHASE[:399] + b"\x05" + CHASE[400:]
    rig.happen(events.SlotSet(LEAD.id, 1, 400, None))
    rig.step()
    assert rig.sent.picture(1) == CHASE


def test_a_look_lies_over_the_console_and_the_baseline_does_not() -> None:
    rig, _ = following("slots", events.LookSaved("", Look("blue", "Blue", {"dim2": {"Dimmer": 90}})))
    assert rig.sent.slot(1, 1) == CHASE[0]  # the baseline has it at 51
    rig.happen(events.LookRecalled(LEAD.id, "blue", 0.0))
    rig.step()
    assert rig.sent.picture(1) == CHASE[:1] + b"\x5a" + CHASE[2:]
    rig.happen(events.LooksLifted(LEAD.id, ("dim2",), LET_GO_S))
    faded = _slots(rig, 1, LET_GO_S + 0.1, 2)
    assert faded == sorted(faded, reverse=CHASE[1] < 0x5A)
    assert rig.sent.picture(1) == CHASE


@pytest.mark.parametrize("join", ["above", "alone"])
def test_where_we_outrank_it_whole_master_and_blackout_reach_it_and_elsewhere_only_what_is_ours(
    join: Join,
) -> None:
    rig, desk = following(join)
    for universe in (1, 2):
        desk.drive(universe, {1: 200, 3: 40, 10: 99, 105: 200, 106: 4, 101: 7}, rig.engine)
    rig.happen(events.MasterSet(LEAD.id, 0.5))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 3), rig.sent.slot(1, 10)) == (100, 40, 99)
    assert (rig.sent.pair(DIMMER), rig.sent.pair(PAN)) == (25602, 7 * 256)
    rig.happen(events.BlackoutSet(LEAD.id, True))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 3), rig.sent.slot(1, 10)) == (0, 40, 99)
    assert rig.sent.pair(DIMMER) == 0
    rig.happen(events.UniverseShared(LEAD.id, 1, shared(1).shared), levels_set("dim2", Dimmer=80))
    rig.step(LET_GO_S)
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 2)) == (200, 0)
    rig.happen(events.BlackoutSet(LEAD.id, False))
    rig.step()
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 2)) == (200, 40)


def test_below_the_master_a_hand_begins_at_what_leaves_and_letting_go_ends_there() -> None:
    rig, desk = following("slots", events.MasterSet(LEAD.id, 0.5))
    desk.drive(1, {1: 100}, rig.engine)
    rig.step()
    rig.happen(events.Taken(MO.id, "dim1"), levels_set("dim1", 1.0, Dimmer=250))
    up = _slots(rig, 1, 1, 1)
    assert _soft([100, *up], 2)
    assert up[-1] == 125
    rig.happen(events.LetGone(MO.id, "dim1", 1.0))
    down = _slots(rig, 1, 1, 1)
    assert _soft([*up[-1:], *down], 2)
    assert down[-1] == 100


def test_deciding_to_follow_and_not_to_fades_everything_and_undoing_it_too() -> None:
    desk = Desk()
    desk.drive(1, {1: 251, 400: 200})
    rig = Rig(heard=desk)
    rig.step()
    asked = rig.ask(Share(LEAD.id, 1, shared(1).shared))
    number = next(e.number for e in asked if isinstance(e, events.Changed))
    seen = [(rig.sent.slot(1, 1), rig.sent.slot(1, 400))]
    for _ in range(40):
        rig.step(0.05)
        seen.append((rig.sent.slot(1, 1), rig.sent.slot(1, 400)))
    assert seen[-1] == (251, 200)
    assert _soft([one for one, _ in seen], 6)
    assert _soft([other for _, other in seen], 6)
    rig.ask(commands.Undo(LEAD.id, number))
    back = [(251, 200)]
    for _ in range(40):
        rig.step(0.05)
        back.append((rig.sent.slot(1, 1), rig.sent.slot(1, 400)))
    assert back[-1] == (51, 0)
    assert _soft([one for one, _ in back], 6)
    assert _soft([other for _, other in back], 6)


def test_where_nothing_has_left_yet_following_begins_at_once() -> None:
    desk = Desk()
    desk.begun = False
    desk.drive(1, CHASE)
    rig = Rig(heard=desk)
    rig.step()
    rig.happen(shared(1))
    rig.step()
    assert rig.sent.picture(1) == CHASE


def test_where_the_console_shows_already_following_begins_at_once_and_ends_softly() -> None:
    desk = Desk()
    desk.outranked = True
    sent = desk.drive(1, {1: 255, 2: 13, 400: 9})
    rig = Rig([shared(1, "below", follow=False), events.SlotSet(LEAD.id, 1, 401, 5)], heard=desk)
    rig.step()
    own = rig.sent.picture(1)
    assert (own[0], own[399:401]) == (51, b"\x00\x05")  # the baseline
    rig.happen(shared(1, "slots"))
    rig.step()
    assert rig.sent.picture(1) == sent[:400] + b"\x05" + sent[401:]
    rig.happen(shared(1, "below", follow=False))
    assert _soft(_slots(rig, 1, LET_GO_S + 0.1, 1), 16)
    assert rig.sent.picture(1) == own


def test_a_console_that_goes_is_held_and_fades_back_in() -> None:
    rig, desk = following()
    desk.drive(1, {1: 200, 400: 100}, rig.engine)
    rig.step()
    desk.go(1, rig.engine)
    assert set(_slots(rig, 1, 3, 1)) == {200}
    assert rig.engine.following[0].standing == "held"
    assert rig.engine.following[0].names == ("Front desk",)
    desk.drive(1, {1: 0, 400: 0}, rig.engine)
    rig.step()
    came = rig.now
    seen = _slots(rig, 1, LET_GO_S, 1)
    assert _soft([200, *seen], 6)
    assert seen[-1] == 0
    assert (rig.engine.following[0].standing, rig.engine.following[0].returned) == ("live", came)
    assert rig.sent.slot(1, 400) == 0
    new = desk.drive(1, CHASE, rig.engine)
    rig.step()
    assert rig.sent.picture(1) == new


def test_a_console_that_goes_may_leave_the_baseline() -> None:
    rig, desk = following()
    rig.happen(shared(1, gone="baseline"))
    rig.step(LET_GO_S)
    desk.drive(1, {1: 251, 400: 100}, rig.engine)
    rig.step()
    desk.go(1, rig.engine)
    rig.step()
    seen = _slots(rig, 1, LET_GO_S, 1)
    assert _soft([251, *seen], 6)
    assert (seen[-1], rig.sent.slot(1, 400)) == (51, 0)
    assert rig.engine.following[0].standing == "baseline"
    desk.drive(1, {1: 251, 400: 100}, rig.engine)
    rig.step()
    seen = _slots(rig, 1, LET_GO_S, 1)
    assert _soft([51, *seen], 6)
    assert (seen[-1], rig.sent.slot(1, 400)) == (251, 100)


def test_who_goes_without_a_word_is_missed_before_long() -> None:
    rig, desk = following()
    rig.happen(shared(1, gone="baseline"))
    rig.step(LET_GO_S)
    del desk.sends[1]  # nobody says so: no packet comes
    rig.step(0.3)
    assert rig.engine.following[0].standing == "baseline"


def test_a_laptop_that_slept_misses_nobody_before_it_has_read_what_came_meanwhile() -> None:
    rig, desk = following()
    rig.happen(shared(1, gone="baseline"))
    rig.step(0.3)

    def standing(after_s: float) -> str:
        rig.step(after_s)
        return rig.engine.following[0].standing

    unread = desk.sends.pop(1)
    rig.engine.stir(1)  # by a packet that was read right before
    assert standing(60.0) == "live"
    assert rig.sent.picture(1) == CHASE
    desk.sends[1] = unread
    assert standing(0.3) == "live"
    assert rig.engine.following[0].returned is None
    del desk.sends[1]  # and who has really gone meanwhile is missed a look later
    assert [standing(60.0), standing(0.3)] == ["live", "baseline"]


def test_after_a_restart_what_left_last_stands_until_the_console_is_heard() -> None:
    desk = Desk({1: CHASE, 2: CHASE})
    rig = Rig([shared(1), shared(2)], heard=desk)
    rig.step()
    assert {slots for _, slots in rig.sent.writes} == {CHASE}
    desk.drive(1, {1: CHASE[0]}, rig.engine)
    rig.step()
    seen = [CHASE[99], *_slots(rig, 1, LET_GO_S, 100)]
    assert _soft(seen, 6)
    assert seen[-1] == 0
    rig.step(10)  # and where none is heard it stays
    assert rig.sent.picture(2) == CHASE
    assert [one.standing for one in rig.engine.following] == ["live", "unheard"]


def test_where_nothing_is_known_nothing_begins_before_a_console_would_have_been_heard() -> None:
    desk = Desk()
    desk.begun = False
    rig = Rig([shared(1), shared(2)], heard=desk)
    rig.step()
    rig.step(1)
    assert rig.sent.writes == []
    desk.drive(1, CHASE, rig.engine)
    rig.step()
    assert rig.sent.writes == [(1, CHASE)]
    rig.step(1.6)  # nobody is there
    assert {universe for universe, _ in rig.sent.writes} == {1, 2}
    assert rig.sent.pair(PAN) == 32768


def test_slots_off_limits_are_never_passed_on() -> None:
    desk = Desk()
    desk.drive(1, CHASE)
    rig = Rig([shared(1)], (OffLimits(1, 300, 310, "exit signs"),), desk)
    rig.step()
    assert rig.sent.picture(1) == CHASE[:299] + bytes(11) + CHASE[310:]


def test_hands_on_hold_what_left_and_the_console_has_it_back_slowly() -> None:
    rig, desk = following()
    desk.drive(2, {101: 10, 102: 20, 105: 1, CONTROL: 0}, rig.engine)
    rig.step()
    rig.ask(commands.HandsOn(LEAD.id, "mover", True, leaving=rig.engine.leaving(["mover"])))
    new = desk.drive(2, {101: 200, 105: 77, CONTROL: 110}, rig.engine)
    rig.step()
    assert (rig.sent.pair(PAN), rig.sent.slot(2, CONTROL)) == (2580, 0)
    assert rig.sent.slot(2, 105) == 77
    rig.ask(commands.HandsOn(LEAD.id, "mover", False))
    pans = []
    for _ in range(60):
        rig.step(0.05)
        pans.append(rig.sent.pair(PAN))
    assert pans[0] < 2580 + 51200 / 30
    assert pans[-1] == 51200
    assert rig.sent.picture(2) == new


def test_a_reset_of_the_consoles_is_not_held_for_as_long_as_hands_are_on() -> None:
    rig, desk = following()
    desk.drive(2, {101: 10, CONTROL: 110}, rig.engine)
    rig.step()
    rig.ask(commands.HandsOn(LEAD.id, "mover", True, leaving=rig.engine.leaving(["mover"])))
    rig.step()
    assert (rig.sent.slot(2, 101), rig.sent.slot(2, CONTROL)) == (10, 0)


def test_what_is_read_of_a_followed_unit_is_what_leaves() -> None:
    rig, desk = following()
    desk.drive(2, {101: 1, 102: 2, 105: 128, 106: 0}, rig.engine)
    rig.step()
    state = rig.stage.state
    mode = state.mode("mover")
    assert mode is not None
    asked = state.asked("mover", mode)
    assert (asked["Pan"], asked["Dimmer"]) == (258, 32768)
    level = dict(zip(rig.engine.rig.span, rig.engine.intensities, strict=True))
    assert level["mover"] == 32768 / 65535
    assert rig.engine.leaving(["mover"])["mover"]["Pan"] == 258
    # One byte of a wide control, by its slot: the other stays as it leaves.
    rig.ask(commands.SetSlot(MO.id, 2, 102, 9))
    rig.step()
    assert rig.sent.pair(PAN) == 265


def test_a_unit_that_comes_to_a_followed_universe_does_as_the_console_says() -> None:
    rig, _ = following()
    rig.happen(events.FixturePut("", fixture("new", "mover", 1, 200)))
    rig.step()
    assert rig.sent.picture(1) == CHASE
    rig.happen(events.FixturePut("", fixture("new", "mover", 5, 200)))
    rig.step()
    assert (rig.sent.picture(1), rig.sent.slot(5, 200)) == (CHASE, CHASE[199])


def test_a_universe_that_nobody_decided_about_is_left_alone() -> None:
    desk = Desk()
    desk.drive(1, CHASE)
    rig = Rig(heard=desk)
    rig.step()
    rig.engine.stir(1)
    rig.step(1)
    assert rig.engine.following == ()
    assert rig.sent.slot(1, 1) == 51


def test_letting_go_while_the_let_go_time_is_nought_is_at_once() -> None:
    rig, _ = following("slots", events.SettingsChanged("", Settings(let_go_s=0.0)))
    rig.happen(events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=200))
    rig.step()
    rig.happen(events.LetGone(MO.id, "dim1", 0.0))
    rig.step()
    assert rig.sent.picture(1) == CHASE
