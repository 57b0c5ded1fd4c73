"""Where only what is ours outranks a console: which slots those are, and what carries its frame."""

import numpy as np

from server.stage import events
from tests.engine.heard import CHASE, Desk, following, shared
from tests.engine.rigs import Rig, levels_set
from tests.shows import LEAD, MO

__all__: list[str] = []

LET_GO_S = 2.0  # Settings.let_go_s


def test_slots_that_are_ours_have_a_priority_of_their_own_and_no_others() -> None:
    rig, desk = following()
    rig.engine.outrank({1: (140, 90)})
    rig.step()
    assert rig.sent.each == {1: bytes([90] * 512), 2: b""}
    rig.happen(events.SlotSet(LEAD.id, 1, 400, 5), events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=9))
    rig.step()
    assert {slot + 1: each for slot, each in enumerate(rig.sent.each[1]) if each != 90} == {1: 140, 400: 140}
    rig.happen(events.LetGone(MO.id, "dim1", LET_GO_S))
    rig.step(1)  # still fading back
    assert rig.sent.each[1][0] == 140
    rig.step(1.1)
    assert rig.sent.each[1][0] == 90
    desk.go(1, rig.engine)  # what stands for it fills silence, and what is in hand stays above
    rig.step()
    assert {slot + 1: each for slot, each in enumerate(rig.sent.each[1]) if each != 90} == {400: 140}
    rig.engine.outrank({})
    rig.step()
    assert rig.sent.each[1] == b""


def test_what_a_console_leaves_to_others_is_left_to_them_until_somebody_has_it_in_hand() -> None:
    rig, desk = following()
    desk.leaves_out[1] = np.arange(1, 513) >= 300
    desk.drive(1, CHASE[:299] + bytes(213), rig.engine)
    rig.happen(events.SlotSet(LEAD.id, 1, 400, 5))
    rig.engine.outrank({1: (140, 90)})
    rig.step()
    assert rig.sent.each[1] == bytes([90] * 299 + [0] * 100 + [140] + [0] * 112)


def test_where_nothing_stands_for_a_console_nothing_is_above_one_that_may_be_there_unheard() -> None:
    desk = Desk()
    rig = Rig([shared(1), levels_set("dim1", Dimmer=9)], heard=desk)
    rig.engine.outrank({1: (101, 1)})
    rig.step()
    assert rig.sent.each[1] == bytes([1] * 512)


def test_it_carries_the_consoles_frame_once_nothing_fades_there_any_more() -> None:
    desk = Desk()
    desk.drive(1, CHASE)
    rig = Rig(heard=desk)
    rig.step()
    assert not rig.engine.carries(1)
    rig.happen(shared(1), events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=9))
    rig.now += 1
    rig.happen(events.MasterSet(LEAD.id, 1.0))  # which makes a frame
    assert not rig.engine.carries(1)
    rig.now += 1.1
    rig.happen(events.MasterSet(LEAD.id, 1.0))
    assert rig.engine.carries(1)
    assert rig.engine.through(1).sum() == 511
