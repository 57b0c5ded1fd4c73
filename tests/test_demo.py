"""The demo show: an invented rig that could hang as it is written."""

from server.demo import HOUSE, VENUE, WORK, demo_events
from server.paperwork.library import Library, read_folder
from server.places import profiles_folder
from server.rig.check import patch_problem
from server.stage.decide import Rules
from server.stage.events import LookSaved
from server.stage.stage import Stage
from server.stage.state import State

__all__: list[str] = []

LIBRARY = Library(read_folder(profiles_folder()))


def _state() -> State:
    stage = Stage(Rules())
    stage.happen(demo_events(LIBRARY))
    return stage.state


def test_every_fixture_can_be_patched_where_it_is() -> None:
    state = _state()
    fixtures = list(state.fixtures.values())
    assert 50 <= len(fixtures) <= 70
    assert not [f.id for f in fixtures if patch_problem(f, state.profiles, fixtures, ())]
    places = [(f.position, f.unit) for f in fixtures]
    assert len(set(places)) == len(places)
    assert {f.universe for f in fixtures} == {1, 2, 3}


def test_every_channel_is_called_once() -> None:
    channels = [f.channel for f in _state().fixtures.values()]
    assert len(set(channels)) == len(channels)
    assert set(channels) >= HOUSE | WORK


def test_the_focus_order_holds_each_unguarded_fixture_once() -> None:
    state = _state()
    assert sorted(state.order) == sorted(f.id for f in state.fixtures.values() if not state.guarded(f))


def test_the_baseline_leaves_no_one_in_the_dark_and_no_look_drives_what_is_guarded() -> None:
    state = _state()
    assert state.baseline in state.looks
    work = next(f for f in state.fixtures.values() if f.work_light)
    assert state.looks[state.baseline].values[work.id]["Dimmer"] > 0
    guarded = {f.id for f in state.fixtures.values() if state.guarded(f)}
    assert len(guarded) == 2
    assert not [look.id for look in state.looks.values() if guarded & look.values.keys()]


def test_no_look_flashes_moves_a_lamp_or_resets() -> None:
    state = _state()
    for look in state.looks.values():
        for fixture, values in look.values.items():
            mode = state.mode(fixture)
            assert mode is not None
            for key, raw in values.items():
                control = mode.control(key)
                assert control is not None
                assert not [f for f in control.functions_at(raw) if f.action], (look.id, fixture, key)
                assert not all(f.strobes for f in control.functions_at(raw)), (look.id, fixture, key)


def test_it_is_the_same_at_every_start() -> None:
    assert demo_events(LIBRARY) == demo_events(LIBRARY)
    assert len([e for e in demo_events(LIBRARY) if isinstance(e, LookSaved)]) == 4
    assert _state().show == VENUE
