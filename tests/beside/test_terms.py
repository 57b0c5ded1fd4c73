"""On what terms a universe leaves: by the words of E1.31-2018, 6.2.3, and of the note on START code 0xDD."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.beside.rank import Rank
from server.beside.terms import leaving
from server.engine.terms import SILENT, USUAL, Terms
from server.rig.universe import OffLimits
from server.stage.shared import Join, Shared

__all__: list[str] = []

LIMIT = OffLimits(1, 5, 6, "house lights")


@pytest.mark.parametrize(
    ("join", "rank", "terms", "outrank"),
    [
        ("alone", Rank(150, 90, here=True), USUAL, None),
        ("off", Rank(150, 90, here=True), SILENT, None),
        ("above", Rank(150, 90, here=True), Terms(priority=151), None),
        ("above", Rank(50, 50, here=True), Terms(priority=100), None),  # at least our own
        ("slots", Rank(150, 90, here=True), Terms(artnet=False, priority=89, per_slot=True), 151),
        ("slots", Rank(100, 2, here=True), Terms(artnet=False, priority=1, per_slot=True), 101),
        ("slots", Rank(150, 90), Terms(priority=89, per_slot=True), 151),  # nobody is there: by Art-Net, too
        ("below", Rank(150, 90, here=True), Terms(artnet=False, priority=89), None),
        ("below", Rank(1, 1, here=True), Terms(artnet=False, priority=0), None),
        ("below", Rank(150, 90), Terms(priority=89), None),
    ],
)
def test_a_decision_becomes_terms(join: Join, rank: Rank, terms: Terms, outrank: int | None) -> None:
    done = leaving(1, Shared(join, follow=join != "alone"), rank, 100, None)
    assert (done.join, done.terms, done.outrank, done.why) == (join, terms, outrank, None)


def test_nothing_is_above_200_and_it_is_said() -> None:
    for join in ("above", "slots"):
        done = leaving(3, Shared(join, follow=True), Rank(200, 200, here=True), 100, None)
        assert (done.join, done.terms.priority, done.outrank) == ("below", 199, None)
        assert done.why == (
            "A console sends universe 3 with priority 200, and nothing is above that: only silence is filled "
            "there."
        )


def test_slots_beside_a_priority_of_1_would_need_one_of_0_which_is_read_otherwise() -> None:
    done = leaving(3, Shared("slots", follow=True), Rank(1, 1, here=True), 100, None)
    assert (done.join, done.terms, done.outrank) == ("below", Terms(artnet=False, priority=0), None)
    assert done.why is not None
    assert "with priority 1: slots in hand cannot be above it" in done.why


def test_nothing_is_below_0() -> None:
    done = leaving(3, Shared("below"), Rank(0, 0, here=True), 100, None)
    assert done.terms == SILENT
    assert done.why is not None


def test_a_limit_set_since_keeps_a_universe_from_being_above_as_a_whole() -> None:
    done = leaving(1, Shared("above", follow=True), Rank(100, 100, here=True), 100, LIMIT)
    assert (done.join, done.terms.priority, done.outrank) == ("slots", 99, 101)
    assert done.why == (
        "Universe 1 has slots that are off limits by now (house lights): only slots in hand are above the "
        "console there."
    )


def test_alone_a_universe_with_slots_off_limits_never_ranks_above_a_console() -> None:
    for own in (91, 100, 200):
        done = leaving(1, Shared("alone"), Rank(150, 90, here=True), own, LIMIT)
        assert (done.join, done.terms, done.outrank) == ("alone", Terms(priority=90), None)
        assert done.why == (
            "Universe 1 has slots that are off limits (house lights): it leaves with the console's priority "
            "90, so that those stay the console's."
        )
    for own, rank in ((90, Rank(150, 90, here=True)), (200, Rank(150, 90))):  # not above; nobody there
        done = leaving(1, Shared("alone"), rank, own, LIMIT)
        assert (done.terms, done.why) == (USUAL, None)


@given(
    st.sampled_from(("above", "slots", "below")),
    st.integers(0, 200),
    st.integers(0, 200),
    st.integers(0, 200),
    st.booleans(),
)
def test_beside_a_console_nothing_is_ever_level_with_it(
    join: Join, one: int, other: int, own: int, limited: bool
) -> None:
    rank = Rank(max(one, other), min(one, other), here=True)
    done = leaving(1, Shared(join, follow=True), rank, own, LIMIT if limited else None)
    priority = done.terms.priority
    if done.join == "above":
        assert priority is not None
        assert rank.highest < priority <= 200
        assert not limited
    elif done.terms.sacn:
        # Packets rank below every console: a node that reads no priorities of slots follows those.
        assert priority is not None
        assert 0 <= priority < rank.lowest
        assert not done.terms.artnet
    if done.outrank is not None:
        assert priority is not None
        assert priority >= 1
        assert rank.highest < done.outrank <= 200
        assert done.terms.per_slot
    else:
        assert not done.terms.per_slot
