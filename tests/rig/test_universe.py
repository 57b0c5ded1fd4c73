"""Universes, slots and absolute addresses."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.rig.universe import (
    SLOTS,
    UNIVERSE_LAST,
    OffLimits,
    Reserved,
    absolute_address,
    last_start,
    port_address_of,
    port_address_said,
    split_absolute,
)

__all__: list[str] = []


@given(st.integers(1, UNIVERSE_LAST), st.integers(1, SLOTS))
def test_universe_and_slot_survive_the_way_to_one_number_and_back(universe: int, slot: int) -> None:
    assert split_absolute(absolute_address(universe, slot)) == (universe, slot)


@given(st.integers(1, UNIVERSE_LAST * SLOTS))
def test_every_absolute_address_is_one_slot_of_one_universe(address: int) -> None:
    universe, slot = split_absolute(address)
    assert 1 <= universe <= UNIVERSE_LAST
    assert 1 <= slot <= SLOTS
    assert absolute_address(universe, slot) == address


@pytest.mark.parametrize("address", [0, -1, UNIVERSE_LAST * SLOTS + 1])
def test_what_is_no_absolute_address_is_refused(address: int) -> None:
    with pytest.raises(ValueError, match=r"no absolute address \(1 to 32767488\)"):
        split_absolute(address)


@given(st.integers(1, SLOTS), st.integers(1, SLOTS), st.integers(1, SLOTS), st.integers(1, SLOTS))
def test_off_limits_hold_exactly_when_a_slot_is_shared(a: int, b: int, c: int, d: int) -> None:
    limit = OffLimits(7, min(a, b), max(a, b), "hoists")
    first, last = min(c, d), max(c, d)
    shared = set(range(limit.first, limit.last + 1)) & set(range(first, last + 1))
    assert limit.holds(7, first, last) == bool(shared)
    assert not limit.holds(8, first, last)


@given(st.integers(1, SLOTS))
def test_behind_the_last_start_a_footprint_would_leave_the_universe(footprint: int) -> None:
    assert last_start(footprint) + footprint - 1 == SLOTS


def test_what_is_reserved_is_not_off_limits() -> None:
    kept = Reserved(1, 1, 2, "visitors")
    assert len({kept, Reserved(1, 1, 2, "visitors"), OffLimits(1, 1, 2, "visitors")}) == 2


@pytest.mark.parametrize(
    ("universe", "offset", "port"),
    [(1, 0, 1), (1, 1, 0), (32767, 0, 32767), (32768, 1, 32767), (32768, 0, None), (63999, 1, None)],
)
def test_the_port_address_of_a_universe(universe: int, offset: int, port: int | None) -> None:
    # Art-Net 4, Universe Addressing: 0 to 32767. That universe 1 is 1 or 0 is common practice, no source.
    assert port_address_of(universe, offset) == port


@pytest.mark.parametrize(
    ("port", "net", "sub_net", "universe"),
    [(0, 0, 0, 0), (1, 0, 0, 1), (16, 0, 1, 0), (279, 1, 1, 7), (4660, 18, 3, 4), (32767, 127, 15, 15)],
)
def test_a_port_address_in_the_words_of_a_nodes_page(
    port: int, net: int, sub_net: int, universe: int
) -> None:
    # Art-Net 4, Universe Addressing: net is bits 14-8, sub-net 7-4, universe 3-0.
    words = f"Art-Net {port}: net {net}, sub-net {sub_net}, universe {universe}"
    assert port_address_said(port) == words
