"""Light that breathes as it leaves: slow, soft, and nobody else's."""

import numpy as np

from server.engine.engine import FRAME_S
from server.stage import commands, events
from tests.engine.rigs import Rig, levels_set
from tests.shows import LEAD, MO

__all__: list[str] = []


def seeking() -> Rig:
    """Mo looks among the two dimmers and the mover; dim1, the first half of it, breathes."""
    rig = Rig([events.PersonJoined("", LEAD), events.PersonJoined("", MO)])
    assert rig.ask(commands.Seek(MO.id, ("dim1", "dim2")))
    return rig


def levels(rig: Rig, slot: int, seconds: float) -> list[int]:
    """What that slot of universe 1 carries in every frame."""
    seen = []
    for _ in range(round(seconds / FRAME_S)):
        rig.step(FRAME_S)
        seen.append(rig.sent.slot(1, slot))
    return seen


def test_it_rises_and_falls_half_a_time_a_second_and_never_jumps() -> None:
    rig = seeking()
    levels(rig, 1, 2.0)  # it comes up
    seen = np.array(levels(rig, 1, 8.0))
    top, low = seen.max(), seen.min()
    assert 98 <= top <= 102  # 40 % of full
    assert 9 <= low <= 12  # a tenth of that: never dark
    middle = (seen > (top + low) / 2).astype(int)
    assert np.count_nonzero(np.diff(middle) == 1) == 4  # four rises in eight seconds
    assert np.abs(np.diff(seen)).max() <= 255 * 0.03


def test_the_others_stay_as_they_are() -> None:
    rig = seeking()
    rig.happen(events.Taken(LEAD.id, "dim2"), levels_set("dim2", Dimmer=90))
    assert set(levels(rig, 2, 4.0)) == {90}


def test_it_goes_on_without_a_jump_when_a_neighbour_joins_in_and_ends_with_a_fade() -> None:
    rig = seeking()
    levels(rig, 1, 3.0)
    rig.ask(commands.AnswerSeek(MO.id, True))
    assert np.abs(np.diff(levels(rig, 1, 2.0))).max() <= 8
    assert rig.engine.in_motion
    rig.ask(commands.EndSeek(MO.id))
    seen = levels(rig, 1, 3.0)
    assert np.abs(np.diff(seen)).max() <= 8
    assert seen[-1] == 51  # as the baseline has it
    rig.engine.took(())
    assert not rig.engine.in_motion


def test_somebody_who_takes_one_over_has_it_steady() -> None:
    rig = seeking()
    levels(rig, 1, 2.0)
    rig.ask(commands.Take(LEAD.id, "dim1", over=True))
    rig.ask(commands.SetValues(LEAD.id, "dim1", {"Dimmer": 1.0}))
    levels(rig, 1, 1.1)  # it comes to rest
    assert set(levels(rig, 1, 3.0)) == {255}


def test_it_breathes_on_after_the_patch_has_changed_and_after_a_restart() -> None:
    rig = seeking()
    levels(rig, 1, 1.5)
    rig.engine.reshape()
    assert len(set(levels(rig, 1, 2.0))) > 20
    again = Rig()
    again.stage.state.people.update(rig.stage.state.people)
    again.happen(*(events.Taken(MO.id, "dim1"), levels_set("dim1", Dimmer=102)))
    again.happen(events.Sought(MO.id, rig.stage.state.seek))  # type: ignore[arg-type]
    assert len(set(levels(again, 1, 2.0))) > 20
