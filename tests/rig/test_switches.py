"""Addresses to switches and back, however the bank is built in."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.rig.switches import Bank, address_of, drawn, switches_of

__all__: list[str] = []

BANKS = st.builds(Bank, st.integers(10, 12), st.booleans(), st.booleans(), st.booleans(), st.booleans())


@given(st.integers(1, 512), BANKS | st.builds(Bank, st.just(9), st.booleans()))
def test_every_address_that_can_be_set_reads_back(address: int, bank: Bank) -> None:
    if address == 512 and not bank.from_zero:
        with pytest.raises(ValueError, match="511 is the last"):
            switches_of(address, bank)
        return
    switches = switches_of(address, bank)
    assert len(switches) == bank.count
    assert address_of(switches, bank) == address


@pytest.mark.parametrize("address", [0, -1, 513])
def test_what_is_no_address_has_no_switches(address: int) -> None:
    with pytest.raises(ValueError, match="no address"):
        switches_of(address)


def test_the_tenth_is_on_when_wanted_and_says_nothing_about_the_address() -> None:
    assert switches_of(1, Bank(10, tenth=True))[9]
    assert not switches_of(1, Bank(10))[9]
    assert switches_of(1, Bank(12, tenth=True))[9:] == (True, False, False)
    assert address_of(switches_of(7, Bank(10, tenth=True)), Bank(10)) == 7


def test_all_off_is_no_address_unless_they_count_from_zero() -> None:
    with pytest.raises(ValueError, match="all nine off"):
        address_of((False,) * 9)
    with pytest.raises(ValueError, match="all nine off"):
        address_of((False,) * 9 + (True,), Bank(10))
    assert address_of((False,) * 9, Bank(from_zero=True)) == 1


def test_a_bank_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="8 switches do not make an address"):
        Bank(8)
    with pytest.raises(ValueError, match="no tenth switch"):
        Bank(9, tenth=True)
    with pytest.raises(ValueError, match="8 switches of 9"):
        address_of((True,) * 8)


def test_the_bank_is_drawn_as_it_is_seen() -> None:
    switches = switches_of(5)  # 1 and 3
    assert drawn(switches)[:4] == ((1, True), (2, False), (3, True), (4, False))
    assert drawn(switches, Bank(on_down=True))[:3] == ((1, False), (2, True), (3, False))
    assert drawn(switches, Bank(mirrored=True)) == tuple(reversed(drawn(switches)))
    assert drawn(switches, Bank(mirrored=True, on_down=True))[-1] == (1, False)
