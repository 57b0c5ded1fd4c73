"""Which packets count of a source that sends the same by two ways, as by IPv4 and IPv6 (E1.31-2018, 9.1)."""

import random

from hypothesis import given
from hypothesis import strategies as st

from server.hearing.order import Order

__all__: list[str] = []

FOUR, SIX = "10.0.0.9", "fe80::9%2"


def judged(*packets: tuple[int, str, float], gone: bool = False) -> list[str]:
    order = Order()
    return [order.judge(sequence % 256, way, now, gone) for sequence, way, now in packets]


def test_each_packet_counts_once_whichever_copy_comes_first_and_where_one_is_lost_the_other_does() -> None:
    both = [(1, FOUR, 0.0), (1, SIX, 0.001), (2, SIX, 0.02), (2, FOUR, 0.021)]
    alone = [(3, FOUR, 0.04), (4, SIX, 0.06)]
    assert judged(*both, *alone) == ["counts", "copy", "counts", "copy", "counts", "counts"]


@given(st.randoms(use_true_random=False), st.integers(0, 120))
def test_however_far_one_way_lags_and_whatever_is_lost_numbers_never_go_back(
    chance: random.Random, lag: int
) -> None:
    # By one way alone 20 or more behind is a source that began anew (6.7.2); a lagging copy is not.
    order, taken = Order(), list[int]()
    for number in range(400):
        for sequence, way in ((number, FOUR), (number - lag, SIX)):
            arrives = sequence >= 0 and chance.random() < 0.9
            if arrives and order.judge(sequence % 256, way, number / 400, False) == "counts":
                taken.append(sequence)
    assert taken == sorted(set(taken))
    assert len(taken) > 300


def test_one_that_begins_anew_is_taken_up_at_once_though_it_sends_both_ways() -> None:
    assert judged((100, FOUR, 0.0), (100, SIX, 0.0), (0, FOUR, 0.02), (0, SIX, 0.02), (1, SIX, 0.04)) == [
        *("counts", "copy", "counts", "copy", "counts"),
    ]
    assert judged((100, SIX, 0.0), (0, FOUR, 0.02), (0, SIX, 0.02), (1, FOUR, 0.04)) == [
        *("counts", "copy", "counts", "counts"),
    ]


def test_a_way_that_falls_silent_leaves_the_source_to_the_other_whatever_its_numbers_are() -> None:
    # Some number each way by itself: the one ahead counts, and the other from half a second after its end.
    assert judged((60, FOUR, 0.0), (50, SIX, 0.01), (51, SIX, 0.4), (52, SIX, 0.6), (53, SIX, 0.7)) == [
        *("counts", "copy", "copy", "counts", "counts"),
    ]


def test_by_one_way_the_order_is_that_of_the_standard() -> None:
    # 6.7.2; the first packet, and the first after a loss, has any number
    assert judged((5, FOUR, 0.0), (5, FOUR, 0.1), (4, FOUR, 0.2), (241, FOUR, 0.3)) == [
        *("counts", "late", "late", "counts"),
    ]
    assert judged((5, FOUR, 0.0), (4, FOUR, 3.0), gone=True) == ["counts", "counts"]
