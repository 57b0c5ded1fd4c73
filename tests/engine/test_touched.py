"""A fixture touched alone: resolved without the rest of the rig, to the same slots."""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.rig.universe import OffLimits
from server.stage import commands, events
from server.stage.commands import Command
from server.stage.events import Event
from server.stage.holds import Refused
from tests.engine.any_rig import UNITS, any_profiles, any_rig
from tests.engine.rigs import Rig, levels_set
from tests.engine.test_engine_always import ASKED
from tests.shows import LEAD, MO

__all__: list[str] = []

PAN = (101, 102)
LIMITS = (OffLimits(1, 5, 6, "a motor"), OffLimits(2, 1, 512, "another's"))
NOWHERE = 9  # a universe of no fixture


class Whole(Rig):
    """An engine that never knows what differs."""

    def ask(self, command: Command) -> Sequence[Event]:
        answer = self.stage.ask(command, self.now)
        if isinstance(answer, Refused):
            return ()
        self.engine.outrank({NOWHERE: (1 + len(self.sent.writes) % 2, 0)})
        self.engine.outrank({NOWHERE: (3, 0)})
        self.engine.took(answer)
        return answer


def _alike(one: Rig, other: Rig) -> None:
    assert np.array_equal(one.engine.frame, other.engine.frame)
    assert np.array_equal(one.engine.intensities, other.engine.intensities)
    assert one.engine.leaving(one.stage.state.fixtures) == other.engine.leaving(other.stage.state.fixtures)
    last = [dict(rig.sent.writes) for rig in (one, other)]
    assert last[0] == last[1]


# A drag, quick or slow: most of what happens; now and then something else.
DRAGS = st.builds(
    commands.SetValues,
    st.sampled_from([LEAD.id, MO.id]),
    st.sampled_from(["dim1", "dim2", "mover"]),
    st.one_of(
        st.fixed_dictionaries({"Dimmer": st.sampled_from([0.0, 0.05, 0.4, 0.9, 1.0])}),
        st.fixed_dictionaries({"Pan": st.floats(0, 1), "Tilt": st.floats(0, 1)}),
    ),
    st.booleans(),
)
AFTER = st.sampled_from([0.0, 0.001, 0.003, 0.02, 0.3, 1.1, 4.0])


@given(st.lists(st.tuples(st.one_of(DRAGS, DRAGS, DRAGS, ASKED), AFTER), max_size=40), st.booleans())
def test_it_leaves_as_if_the_whole_rig_had_been_resolved(
    asked: list[tuple[Command, float]], limited: bool
) -> None:
    limits = LIMITS if limited else ()
    alone, whole = Rig(off_limits=limits), Whole(off_limits=limits)
    for command, after_s in asked:
        for rig in (alone, whole):
            rig.now += after_s
            rig.ask(command)
        _alike(alone, whole)


@given(st.data(), any_rig())
def test_on_any_rig_too(data: st.DataObject, units: list) -> None:  # type: ignore[type-arg]
    laid = [
        *(events.ProfileAdded(LEAD.id, profile) for profile in any_profiles().values()),
        *(events.FixturePut(LEAD.id, unit) for unit in units),
    ]
    alone, whole = Rig(laid, LIMITS), Whole(laid, LIMITS)
    keys = {unit.id: sorted(_keys(alone, unit.id)) for unit in units}
    for _ in range(data.draw(st.integers(0, 15))):
        unit = data.draw(st.sampled_from(UNITS))
        key = data.draw(st.sampled_from(keys[unit]))
        command = commands.SetValues(LEAD.id, unit, {key: data.draw(st.floats(0, 1))}, held=True)
        after_s = data.draw(AFTER)
        for rig in (alone, whole):
            rig.now += after_s
            rig.ask(command)
        _alike(alone, whole)


def _keys(rig: Rig, unit: str) -> set[str]:
    mode = rig.stage.state.mode(unit)
    assert mode is not None
    return {control.key for control in mode.controls}


def test_the_rest_of_the_rig_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    rig, whole = Rig(), list[float]()
    rig.now += 1.0
    rig.happen(levels_set("mover", Pan=1))  # the first frame of a rig is of all of it
    monkeypatch.setattr(rig.engine, "step", whole.append)
    for raw in range(100):
        rig.now += 0.033
        rig.happen(levels_set("mover", Pan=raw * 600))
        assert rig.sent.pair(PAN) == raw * 600
    assert whole == []


def test_what_fades_beside_it_goes_on() -> None:
    rig = Rig()
    rig.now += 1.0
    rig.happen(levels_set("dim1", 2.0, Dimmer=255))
    rig.now += 1.0
    rig.happen(levels_set("mover", Pan=600))
    assert rig.sent.pair(PAN) == 600
    assert rig.sent.slot(1, 1) == 153  # half way from 51 to 255
