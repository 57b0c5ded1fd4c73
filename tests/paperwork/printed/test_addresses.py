"""The address plan: what is taken and free, as numbers and as a picture."""

from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.printed.addresses import GREY, free_ranges
from server.rig.universe import SLOTS
from tests.papers import job, many, picture, printed, read, unit

__all__: list[str] = []

DOTS = 200


def test_free_slots_are_those_between_what_is_taken() -> None:
    assert free_ranges([(1, 10), (101, 126), (500, 512)]) == [(11, 100), (127, 499)]
    assert free_ranges([]) == [(1, 512)]
    assert free_ranges([(1, 512), (510, 600)]) == []


@given(st.lists(st.tuples(st.integers(1, 512), st.integers(1, 60))))
def test_every_slot_is_either_free_or_taken(placed: list[tuple[int, int]]) -> None:
    taken = {slot for first, slots in placed for slot in range(first, first + slots) if slot <= SLOTS}
    free = free_ranges([(first, first + slots - 1) for first, slots in placed])
    left = {slot for first, last in free for slot in range(first, last + 1)}
    assert not taken & left
    assert taken | left == set(range(1, SLOTS + 1))


def test_a_unit_is_in_each_universe_that_it_listens_on() -> None:
    both = unit(21, spans=((2, 1, 10), (3, 101, 110)))
    found = read(printed(job("addresses", both, reserved=[(3, 1, 20, "rental dimmers")])))
    assert "10 of 512 slots taken" in found.pages[0]
    assert "Free: 11-512" in found.pages[0]
    assert "Universe 3" in found.pages[1]
    assert "10 of 512 slots taken" in found.pages[1]
    assert "Free: 21-100, 111-512" in found.pages[1]
    assert "Kept free: 1 to 20, rental dimmers" in found.pages[1]


def test_each_universe_has_its_page_with_what_is_free_and_off_limits() -> None:
    units = [
        unit(1, universe=1, address=1),
        unit(2, universe=7, address=100),
        unit(9, universe=None, address=None),
    ]
    found = read(printed(job("addresses", *units, off_limits=[(7, 500, 512, "aisle light")])))
    assert len(found.pages) == 3
    assert "Universe 1" in found.pages[0]
    assert "26 of 512 slots taken" in found.pages[0]
    assert "Free: 27-512" in found.pages[0]
    assert "Free: 1-99, 126-499" in found.pages[1]
    assert "Off limits: 500 to 512, aisle light" in found.pages[1]
    assert "not for hazardous applications" in found.pages[0]
    assert "Not patched" in found.pages[2]


def test_the_picture_is_grey_where_slots_are_taken_and_white_where_they_are_free() -> None:
    drawn = picture(printed(job("addresses", unit(1, address=1, slots=64))), dots=DOTS)
    # In the middle of the eleventh of 32 slots: beside 10 mm of edge and 9 mm for the numbers of the rows.
    x = int((10 + 9 + 10.5 * (210 - 20 - 9) / 32) * DOTS / 25.4)
    grey = [y for y in range(drawn.height) if drawn.getpixel((x, y)) == round(GREY * 255)]
    two_rows = 2 * 6 * DOTS / 25.4  # of 6 mm, all but the lines around them
    assert two_rows - 8 < len(grey) < two_rows


def test_a_large_rig_has_a_page_for_each_universe_at_least() -> None:
    found = read(printed(job("addresses", *many(100))))
    assert len(found.pages) >= 6
    assert f"Page 1 of {len(found.pages)}" in found.pages[0]


def test_a_page_that_goes_on_says_which_universe_it_is_of() -> None:
    small = [unit(at, address=at, slots=1) for at in range(1, 100)]
    found = read(printed(job("addresses", *small)))
    assert len(found.pages) > 2
    assert all("Universe 2 (continued)" in text for text in found.pages[1:])
