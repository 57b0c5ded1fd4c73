"""Who has which slot, and where the next free ones are."""

from hypothesis import given
from hypothesis import strategies as st

from server.rig.taken import Taken
from server.rig.universe import SLOTS, UNIVERSE_LAST, OffLimits, Reserved
from tests.rigs import PROFILES, unit

__all__: list[str] = []


def test_the_owners_of_slots_are_told_in_their_order_each_once() -> None:
    taken = Taken([unit("a", "head", 21), unit("b", "head", 1), unit("c", "none", 40)], PROFILES)
    assert [f.id for f in taken.owners(1, 5, 30)] == ["b", "a"]
    assert taken.owners(1, 11, 20) == taken.owners(2, 1, 512) == []


def test_of_two_that_share_a_slot_the_first_has_it() -> None:
    taken = Taken([unit("a", "head", 1), unit("b", "head", 6)], PROFILES)
    assert [f.id for f in taken.owners(1, 1, 10)] == ["a"]
    assert [f.id for f in taken.owners(1, 11, 15)] == ["b"]


def test_what_lies_partly_outside_has_the_slots_inside() -> None:
    places = [unit("a", "head", 510), unit("b", "head", -4), unit("c", "head", 600), unit("d", "head", -20)]
    taken = Taken(places, PROFILES)
    assert [[f.id for f in taken.owners(1, slot, slot)] for slot in (512, 5, 6)] == [["a"], ["b"], []]


@given(
    st.lists(st.tuples(st.integers(1, 503), st.booleans()), max_size=60),
    st.integers(1, SLOTS),
    st.integers(0, SLOTS),
)
def test_a_free_start_is_the_first_behind_that_slot_else_the_first_of_all(
    there: list[tuple[int, bool]], footprint: int, behind: int
) -> None:
    heads = [unit(str(at), "head", start) for at, (start, is_head) in enumerate(there) if is_head]
    kept = [(OffLimits if at % 2 else Reserved)(1, a, a + 9, "x") for at, (a, h) in enumerate(there) if not h]
    used = {slot for start, _ in there for slot in range(start, start + 10)}
    fits = [s for s in range(1, 514 - footprint) if used.isdisjoint(range(s, s + footprint))]
    wanted = next((s for s in fits if s > behind), fits[0] if fits else None)
    taken = Taken(heads, PROFILES, kept)
    assert taken.free_start(1, footprint, behind) == wanted
    assert taken.free_start(2, footprint, 0) == 1


def test_the_next_free_place_may_lie_in_another_universe_and_there_is_a_last_one() -> None:
    taken = Taken([unit("a", "head", 500)], PROFILES, [Reserved(2, 1, 512, "x")])
    assert taken.next_free(1, 490, 10) == (1, 490)
    assert taken.next_free(1, 491, 10) == (3, 1)
    assert taken.next_free(UNIVERSE_LAST, 504, 10) is None
    assert taken.next_free(1, 600, 1) == (3, 1)
