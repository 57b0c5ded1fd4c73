"""What was on a slot before it became ours, and what is still borrowed."""

import numpy as np
from numpy.typing import NDArray

from server.beside.borrowed import Borrowed, whose
from server.stage.commands import SetSlot, SetValues
from tests.rigs import done, stage_with

__all__: list[str] = []


def ours(*slots: int) -> NDArray[np.bool_]:
    mask = np.zeros(512, np.bool_)
    mask[[slot - 1 for slot in slots]] = True
    return mask


def sends(**levels: int) -> NDArray[np.uint8]:
    """By slot: sends(s1=20)."""
    sent = np.full(512, 7, np.uint8)
    for name, level in levels.items():
        sent[int(name[1:]) - 1] = level
    return sent


def mo(slot: int) -> tuple[str, str]:
    return f"unit at {slot}", "Mo"


def test_what_the_console_sent_just_before_is_kept_and_not_what_it_sends_since() -> None:
    it = Borrowed()
    it.look(1, ours(), sends(s3=20), mo, 0.0)
    it.look(1, ours(3), sends(s3=99), mo, 0.1)  # it changed in the very moment
    it.look(1, ours(3), sends(s3=50), mo, 0.2)
    (loan,) = it.loans(1)
    assert (loan.slot, loan.before, loan.since, loan.fixture, loan.by) == (3, 20, 0.1, "unit at 3", "Mo")


def test_each_slot_is_given_back_by_itself_and_counted() -> None:
    it = Borrowed()
    it.look(1, ours(3, 4, 9), sends(), mo, 0.0)
    assert [loan.slot for loan in it.loans(1)] == [3, 4, 9]
    it.look(1, ours(4, 10), sends(), mo, 0.1)
    assert [(loan.slot, loan.since) for loan in it.loans(1)] == [(4, 0.0), (10, 0.1)]
    it.look(1, None, sends(), mo, 0.2)
    assert (it.loans(1), it.returned, it.loans(2)) == ([], {1: 4}, [])


def test_while_the_console_is_not_heard_what_is_borrowed_stays_so() -> None:
    it = Borrowed()
    it.look(1, ours(3), sends(s3=20), mo, 0.0)
    it.look(1, None, None, mo, 5.0)
    assert [(loan.slot, loan.before) for loan in it.loans(1)] == [(3, 20)]


def test_it_is_told_by_whom() -> None:
    stage = stage_with()
    done(stage, SetValues("mo", "spot", {"Dimmer": 0.5}))
    done(stage, SetSlot("kit", 1, 400, 9))
    assert whose(stage.state, 1, "spot", 1) == ("spot", "Mo")
    assert whose(stage.state, 1, "wash", 2) == ("wash", "")
    assert whose(stage.state, 1, "", 400) == ("", "Kit")
    assert whose(stage.state, 1, "", 401) == ("", "")
