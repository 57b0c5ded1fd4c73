"""Undoing, as it leaves: levels go back by a fade, bare slots and fixtures as they were."""

import pytest

from server.stage import commands as ask
from server.stage import events
from tests.engine.rigs import Rig
from tests.shows import BASELINE, LEAD, fixture

__all__: list[str] = []


def dim(level: float) -> ask.SetValues:
    return ask.SetValues(LEAD.id, "dim1", {"Dimmer": level})


def test_a_level_goes_back_by_a_fade_and_never_in_a_snap() -> None:
    rig = Rig()
    rig.ask(dim(1.0))
    rig.step(5.0)
    rig.ask(dim(0.0))
    rig.step(5.0)
    assert rig.sent.slot(1, 1) == 0
    rig.ask(ask.Undo(LEAD.id, 2))
    rig.step(0.02)
    assert rig.sent.slot(1, 1) < 10
    rig.step(0.98)
    assert rig.sent.slot(1, 1) == pytest.approx(128, abs=2)
    rig.step(1.1)
    assert rig.sent.slot(1, 1) == 255


def test_a_recalled_look_goes_back_by_a_fade() -> None:
    rig = Rig([events.BaselineSet("", None)])
    rig.ask(ask.RecallLook(LEAD.id, BASELINE.id, 0.0))
    rig.step(0.1)
    assert rig.sent.slot(1, 1) == 51
    rig.ask(ask.Undo(LEAD.id, 1))
    rig.step(1.0)
    assert 20 < rig.sent.slot(1, 1) < 31
    rig.step(1.1)
    assert rig.sent.slot(1, 1) == 0


def test_bare_slots_and_fixtures_are_as_they_were() -> None:
    rig = Rig()
    rig.ask(ask.SetSlot(LEAD.id, 1, 9, 77))
    rig.ask(ask.ChangePatch(LEAD.id, (fixture("new", "dimmer", 1, 9),)))
    rig.step(0.1)
    assert rig.sent.slot(1, 9) == 0
    rig.ask(ask.Undo(LEAD.id, 2))
    rig.step(0.1)
    assert rig.sent.slot(1, 9) == 77
    assert "new" not in rig.engine.rig.span
    rig.ask(ask.Undo(LEAD.id, 1))
    rig.step(0.1)
    assert rig.sent.slot(1, 9) == 0
