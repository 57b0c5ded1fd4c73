"""Another rig in place of this one: no slot jumps, and light moves to where the new show has it."""

import numpy as np
import pytest

from server.engine.arrival import begins
from server.rig.compiled import compile_rig
from server.stage import events
from server.stage.carried import Carried, carried
from server.stage.state import Look, State
from tests.engine.rigs import Rig
from tests.rigs import PROFILES as RIG_PROFILES
from tests.rigs import rig_of, unit
from tests.shows import BASELINE, LEAD, PROFILES, fixture

__all__: list[str] = []


def _show(baseline: dict[str, dict[str, int]]) -> Carried:
    """Another show: other fixtures on the slots of dim1 and dim2, a mover where one is, one far away."""
    units = [
        fixture("a", "dimmer", 1, 1),
        fixture("b", "dimmer", 1, 2),
        fixture("m", "mover", 2, 101),
        fixture("far", "mover", 7, 1),
    ]
    looks = {"l": Look("l", "L", baseline)}
    fixtures = {each.id: each for each in units}
    return carried(State(profiles=dict(PROFILES), fixtures=fixtures, looks=looks, baseline="l"))


def _replaced(show: Carried, *before: events.Event) -> Rig:
    rig = Rig([events.Taken(LEAD.id, "dim2"), *before])
    rig.engine.step(rig.now)
    rig.now += 1
    rig.happen(events.ShowReplaced(LEAD.id, show, 2.0))
    return rig


def test_what_leaves_on_a_slot_is_where_the_new_light_begins_and_it_fades_from_there() -> None:
    up = events.LevelsSet(LEAD.id, "dim2", {"Dimmer": 200})
    rig = _replaced(_show({"a": {"Dimmer": 255}, "b": {"Dimmer": 0}}), up)
    assert BASELINE.values["dim1"] == {"Dimmer": 51}
    seen = [(rig.sent.slot(1, 1), rig.sent.slot(1, 2))]
    for _ in range(8):
        rig.now += 0.25
        rig.engine.step(rig.now)
        seen.append((rig.sent.slot(1, 1), rig.sent.slot(1, 2)))
    assert seen[0] == (51, 200)
    assert seen[4] == (153, 100)
    assert seen[-1] == (255, 0)
    assert [one for one, _ in seen] == sorted(one for one, _ in seen)
    assert [other for _, other in seen] == sorted((other for _, other in seen), reverse=True)


def test_a_head_turns_from_where_it_points_and_one_nobody_knows_of_only_comes_up() -> None:
    turned = events.LevelsSet(LEAD.id, "mover", {"Pan": 1000})
    rig = _replaced(_show({"m": {"Pan": 50000}, "far": {"Pan": 40000, "Dimmer": 65535}}), turned)
    assert rig.sent.pair((101, 102)) == 1000
    far = rig.sent.picture(7)
    assert 256 * far[0] + far[1] == 40000
    assert far[4:6] == bytes(2)
    rig.now += 1.0
    rig.engine.step(rig.now)
    assert rig.sent.pair((101, 102)) == 25500
    assert rig.sent.picture(7)[4] == 128
    assert rig.planned[-1] == (1, 2, 7)


def test_it_does_not_count_as_flashes_and_an_action_under_way_ends() -> None:
    act = events.Acted(LEAD.id, "mover", "Control1", "Recalibrate", 110, 30.0)
    rig = _replaced(_show({}), act)
    assert rig.sent.slot(2, 109) == 0
    rig.now += 5
    rig.happen()
    assert not rig.engine.in_motion


@pytest.mark.parametrize("master", [1.0, 0.5, 0.0])
def test_with_the_master_down_no_level_rises_on_arrival(master: float) -> None:
    up = events.LevelsSet(LEAD.id, "dim2", {"Dimmer": 200})
    rig = _replaced(_show({"a": {"Dimmer": 51}, "b": {"Dimmer": 200}}), up, events.MasterSet("", master))
    assert (rig.sent.slot(1, 1), rig.sent.slot(1, 2)) == (int(51 * master + 0.5), int(200 * master + 0.5))


def test_inverted_and_virtual_controls_begin_where_their_slots_are() -> None:
    head = unit("head", "head", 11, inverted=("Pan",))
    wash = unit("wash", "wash", 31)
    rig = compile_rig([head, wash], RIG_PROFILES)
    before = rig_of()
    frame = np.zeros((len(before.universes), 512), np.uint8)
    frame[0, 12:14] = (0, 9)  # pan, 16 bit, the other way round
    frame[0, 30:33] = (7, 8, 9)
    raw = begins(rig, before, frame, 1.0)
    assert raw[rig.row["head", "Pan"]] == 65535 - 9
    assert [raw[rig.row["wash", f"ColorAdd_{c}"]] for c in "RGB"] == [7, 8, 9]
    assert np.isnan(raw[rig.row["wash", "Dimmer"]])
