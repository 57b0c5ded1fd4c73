"""When packets leave, on a clock the tests own."""

from itertools import pairwise
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.output.pacing import (
    CLOSEST_S,
    FRAME_S,
    KEEP_ALIVE_S,
    TOGETHER_S,
    Announcements,
    Farewell,
    Pace,
    Rank,
)

__all__: list[str] = []

LATE_S = st.floats(0, 0.003)


def run(pace: Pace, until: float, late_s: float = 0.0) -> list[float]:
    """Send whenever it is due, `late_s` late, and return when."""
    sent = []
    while pace.due <= until:
        sent.append(pace.due + late_s)
        pace.sent(sent[-1])
    return sent


def test_a_universe_is_never_due_before_its_first_picture() -> None:
    assert Pace().due == inf
    assert Pace(steady=True).due == inf


def test_a_change_on_a_quiet_universe_is_due_at_once() -> None:
    pace = Pace()
    pace.changed(10.0)
    assert pace.due == 10.0


def test_after_a_change_come_three_repeats_and_then_one_packet_each_0_9_s() -> None:
    # E1.31-2018, 6.6.2: three unchanged packets, then one each 0.8 to 1.0 s.
    pace = Pace()
    pace.changed(0.0)
    sent = run(pace, 2.9)
    assert sent[:4] == pytest.approx([0, FRAME_S, 2 * FRAME_S, 3 * FRAME_S])
    assert [b - a for a, b in pairwise(sent[4:])] == pytest.approx([KEEP_ALIVE_S, KEEP_ALIVE_S])


@given(st.floats(0, 1e6), st.lists(st.floats(0, 0.04), min_size=3, max_size=20))
def test_keep_alives_are_0_8_to_1_s_apart_whenever_they_begin_and_however_late_they_are(
    start: float, lates: list[float]
) -> None:
    # E1.31-2018, 6.6.2: a keep-alive every 800 to 1000 ms.
    pace = Pace()
    pace.changed(start)
    sent = run(pace, start + 0.5)[-1:]
    for late in lates:
        sent.append(pace.due + late)
        pace.sent(sent[-1])
    assert all(0.8 <= b - a <= 1.0 for a, b in pairwise(sent))


def test_quiet_universes_come_to_send_at_the_same_moments() -> None:
    paces = [Pace() for _ in range(100)]
    for number, pace in enumerate(paces):
        pace.changed(number * 0.013)
        run(pace, 5.0)
    assert len({round(pace.due, 6) for pace in paces}) <= 9


def test_a_change_during_the_repeats_waits_for_the_grid_and_starts_the_repeats_again() -> None:
    pace = Pace()
    pace.changed(0.0)
    pace.sent(0.0)
    pace.changed(0.001)
    assert run(pace, 0.2) == pytest.approx([n * FRAME_S for n in (1, 2, 3, 4)])


def test_a_change_right_after_a_keep_alive_keeps_its_distance() -> None:
    pace = Pace()
    pace.changed(0.0)
    last = run(pace, 1.0)[-1]
    pace.changed(last + 0.005)
    assert pace.due == last + CLOSEST_S


def test_motion_of_an_hour_does_not_drift() -> None:
    pace = Pace()
    pace.changed(0.0)
    for _ in range(44 * 3600):
        pace.sent(pace.due)
        pace.changed(pace.due - 0.01)
    assert pace.due == pytest.approx(3600.0, abs=1e-6)


def test_a_steady_universe_sends_44_times_a_second_without_any_change() -> None:
    pace = Pace(steady=True)
    pace.changed(0.0)
    assert len(run(pace, 9.999)) == 440


def test_steady_can_be_switched_while_it_runs() -> None:
    pace = Pace()
    pace.changed(0.0)
    run(pace, 0.5)
    pace.set_steady(True, 0.5)
    pace.set_steady(True, 0.5)
    assert run(pace, 1.499)[:2] == pytest.approx([0.5, 0.5 + FRAME_S])
    pace.set_steady(False, 1.5)
    assert len(run(pace, 2.3)) == 1


def test_steady_before_the_first_picture_still_sends_nothing() -> None:
    pace = Pace()
    pace.set_steady(True, 1.0)
    assert pace.due == inf


def test_being_stopped_for_seconds_costs_frames_and_makes_no_burst() -> None:
    pace = Pace(steady=True)
    pace.changed(0.0)
    run(pace, 1.0)
    pace.sent(6.31)
    after = run(pace, 7.0)
    assert after[0] - 6.31 >= CLOSEST_S
    assert after[-1] * 44 == pytest.approx(round(after[-1] * 44), abs=1e-6), "back on the grid"
    assert min(b - a for a, b in pairwise(after)) >= CLOSEST_S


@given(st.lists(LATE_S, min_size=50, max_size=200), st.booleans())
def test_two_packets_are_never_closer_than_22_1_ms_however_late_the_process_is(
    lates: list[float], steady: bool
) -> None:
    pace, sent = Pace(steady), [-inf]
    pace.changed(0.0)
    for late in lates:
        # The process takes along what is due within TOGETHER_S: the earliest a packet can leave.
        sent.append(pace.due - TOGETHER_S + late)
        pace.sent(sent[-1])
        pace.changed(sent[-1])
    assert min(b - a for a, b in pairwise(sent)) >= 0.0221 - 1e-9


@given(st.lists(LATE_S, min_size=100, max_size=400))
def test_lateness_of_up_to_3_ms_costs_no_frame(lates: list[float]) -> None:
    pace = Pace(steady=True)
    pace.changed(0.0)
    for late in lates:
        pace.sent(pace.due + late * 0.1)
    assert pace.due == pytest.approx(len(lates) * FRAME_S, abs=0.003)


@given(st.lists(st.tuples(st.floats(0, 3), st.floats(0, 8)), min_size=1, max_size=60))
def test_any_mix_of_changes_and_stops_keeps_the_distance(steps: list[tuple[float, float]]) -> None:
    pace, now, sent = Pace(), 0.0, [-inf]
    for wait_s, stopped_s in steps:
        now += wait_s
        pace.changed(now)
        if pace.due > now:
            now = pace.due
        now += stopped_s
        sent.append(now)
        pace.sent(now)
        assert pace.due > now
    assert min(b - a for a, b in pairwise(sent)) >= 0.0221 - 1e-9


def test_a_farewell_is_three_packets_a_frame_apart() -> None:
    # E1.31-2018, 6.2.6: three packets with the terminated bit.
    farewell, sent = Farewell(5.0, 3), []
    while farewell.due < inf:
        sent.append(farewell.due)
        farewell.sent(farewell.due)
    assert sent == pytest.approx([5.0, 5.0 + FRAME_S, 5.0 + 2 * FRAME_S])


def test_the_list_of_universes_goes_out_every_ten_seconds_and_once_more_when_it_changes() -> None:
    # E1.31-2018, 4.3 and 8: every 10 s, at most one extra inside an interval.
    announcements = Announcements(10.0)
    assert announcements.due == inf
    announcements.changed(1.0)
    assert announcements.due == 1.0
    announcements.sent(1.0)
    assert announcements.due == 11.0
    announcements.changed(3.0)
    assert announcements.due == 3.0
    announcements.sent(3.0)
    announcements.changed(4.0)
    assert announcements.due == 11.0
    announcements.sent(11.0)
    announcements.changed(12.0)
    assert announcements.due == 12.0


@given(
    st.lists(st.floats(0.001, 1.5), min_size=1, max_size=12),
    st.booleans(),
    st.lists(st.floats(0, 0.003), min_size=3, max_size=9),
)
def test_priorities_go_with_a_change_and_its_repeats_and_then_never_more_than_a_second_apart(
    pauses: list[float], steady: bool, lates: list[float]
) -> None:
    # The note on START code 0xDD: after a change three repeats, then one each 800 to 1000 ms.
    pace, rank, now = Pace(steady), Rank(), 0.0
    frames, ranked, late = [], [], 0
    for pause in (*pauses, 3.0):
        pace.changed(now)  # of levels only
        until = now + pause
        while pace.due <= until:
            late += 1
            at = pace.due + lates[late % len(lates)]
            if rank.goes(at, pace.ends_motion):
                ranked.append(at)
            frames.append(at)
            pace.sent(at)
        now = until
    assert ranked[:4] == frames[:4], "with the first packets too"
    assert all(b - a <= 1.0 for a, b in pairwise(ranked))
    quiet = [at for at in ranked if at > frames[0] + 0.2]
    if steady:
        assert all(b - a >= 0.8 for a, b in pairwise(quiet))
        assert len(frames) > 20 * len(quiet)


def test_new_priorities_are_sent_four_times() -> None:
    rank = Rank()
    assert [rank.goes(at / 44, False) for at in range(6)] == [True] * 4 + [False] * 2
    rank.changed()
    assert [rank.goes(at / 44, False) for at in range(6, 12)] == [True] * 4 + [False] * 2


@given(
    st.sampled_from([1.0, 1.1, 1.5, 2.0, 10.0, 30.0, 43.0]),
    st.lists(st.floats(0, 0.3), min_size=1, max_size=30),
    st.booleans(),
    LATE_S,
)
def test_a_lower_rate_is_never_exceeded_and_nothing_is_silent_for_longer_than_a_second(
    hz: float, changes: list[float], steady: bool, late_s: float
) -> None:
    pace, rank, now = Pace(steady, hz), Rank(1 / hz), 0.0
    sent, ranked = [], []
    for pause in (*changes, 5.0):
        pace.changed(now)
        now += pause
        while pace.due <= now:
            at = pace.due + late_s
            if rank.goes(at, pace.ends_motion):
                ranked.append(at)
            sent.append(at)
            pace.sent(at)
    # As at 44 Hz a packet may come 0.4 ms sooner, to be back on the grid after a late one.
    assert all(b - a >= pace.closest_s - 1e-6 for a, b in pairwise(sent))
    assert pace.closest_s > 1 / hz - 0.0005
    # E1.31-2018, 6.6.2, and the note on 0xDD: a second at most, late or not.
    assert all(b - a <= 1.0 + 2 * late_s + 1e-6 for a, b in pairwise(sent))
    assert all(b - a <= 1.0 + 2 * late_s + 1e-6 for a, b in pairwise(ranked))


def test_at_a_place_where_another_packet_has_just_left_a_frame_waits() -> None:
    pace = Pace()
    pace.changed(1.0)
    pace.not_soon_after(0.99)
    assert pace.due == pytest.approx(0.99 + CLOSEST_S)
    pace.not_soon_after(0.5)
    assert pace.due == pytest.approx(0.99 + CLOSEST_S)
    quiet = Pace()
    quiet.not_soon_after(2.0)
    assert quiet.due == inf


def test_a_slow_stream_ends_within_the_second() -> None:
    farewell = Farewell(1.0, 3, 1.0)
    while farewell.due < inf:
        farewell.sent(farewell.due)
    assert farewell.last == pytest.approx(1.4)
