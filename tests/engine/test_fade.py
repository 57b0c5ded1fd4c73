"""Fades: straight lines in time, whatever happens on the way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.engine.fade import Fades

__all__: list[str] = []

ROW = np.array([0])


def _fades(*values: float, snap: int | None = None) -> Fades:
    return Fades(np.array(values), np.arange(len(values)) == snap)


def test_what_snaps_is_there_at_the_start_of_a_fade() -> None:
    fades = _fades(0, 0, snap=1)
    fades.go(np.array([0, 1]), np.array([100.0, 100.0]), 10.0, 5.0)
    assert fades.at(10.0).tolist() == [0, 100]


def test_a_fade_of_no_time_jumps_and_leaves_others_on_their_way() -> None:
    fades = _fades(0, 0)
    fades.go(ROW, np.array([100.0]), 10.0, 4.0)
    fades.go(np.array([1]), np.array([7.0]), 11.0, 0.0)
    assert fades.at(11.0).tolist() == [25, 7]


def test_a_new_target_is_approached_from_where_the_row_is() -> None:
    fades = _fades(0)
    fades.go(ROW, np.array([100.0]), 0.0, 10.0)
    fades.go(ROW, np.array([0.0]), 5.0, 10.0)
    assert fades.at(5.0)[0] == 50
    assert fades.at(10.0)[0] == 25


def test_rows_that_were_not_named_stay_where_they_are() -> None:
    fades = _fades(1, 2, 3)
    fades.go(np.array([1]), np.array([20.0]), 0.0, 1.0)
    assert fades.at(0.5).tolist() == [1, 11, 3]


def test_a_start_can_be_given() -> None:
    fades = _fades(100)
    fades.go(ROW, np.array([100.0]), 0.0, 2.0, np.array([60.0]))
    assert [fades.at(at)[0] for at in (0.0, 1.0, 2.0)] == [60, 80, 100]


def test_what_waits_stays_where_it_is_and_then_goes_also_what_snaps() -> None:
    fades = _fades(100, 100, snap=1)
    fades.go(np.array([0, 1]), np.array([0.0, 0.0]), 10.0, 2.0, wait_s=1.0)
    at = (10.0, 10.99, 11.0, 12.0, 13.0)
    assert [fades.at(now)[0] for now in at] == [100, 100, 100, 50, 0]
    assert [fades.at(now)[1] for now in at] == [100, 100, 0, 0, 0]
    assert fades.moving(12.9)
    assert not fades.moving(13.0)


def test_it_moves_until_the_last_fade_has_ended() -> None:
    fades = _fades(0, 0)
    assert not fades.moving(0.0)
    fades.go(ROW, np.array([1.0]), 0.0, 5.0)
    fades.go(np.array([1]), np.array([1.0]), 1.0, 2.0)
    assert fades.moving(4.9)
    assert not fades.moving(5.0)


def test_carrying_on_takes_a_fade_to_another_row() -> None:
    old, new = _fades(0, 0), _fades(9, 9, 9)
    old.go(np.array([1]), np.array([100.0]), 0.0, 10.0)
    new.carry_on(old, np.array([[2, 1]]))
    assert new.at(5.0).tolist() == [9, 9, 50]
    assert new.target.tolist() == [9, 9, 100]
    assert new.moving(9.9)


@given(
    st.floats(0, 2**32),
    st.floats(0, 2**32),
    st.floats(0.01, 3600),
    st.lists(st.floats(0, 4000), min_size=2, max_size=20),
)
def test_a_fade_never_turns_back_and_ends_exactly(
    start: float, target: float, seconds: float, times: list[float]
) -> None:
    fades = _fades(start)
    fades.go(ROW, np.array([target]), 0.0, seconds)
    way = [fades.at(at)[0] for at in sorted(times)]
    assert sorted(way, reverse=target < start) == way
    assert fades.at(seconds)[0] == target


@given(st.lists(st.floats(0, 10), min_size=1, max_size=10))
def test_a_late_look_makes_no_slow_fade(times: list[float]) -> None:
    watched, not_watched = _fades(0), _fades(0)
    for fades in (watched, not_watched):
        fades.go(ROW, np.array([1000.0]), 0.0, 10.0)
    for at in sorted(times):
        assert watched.at(at)[0] == pytest.approx(100 * at)
    assert watched.at(max(times)) == not_watched.at(max(times))
