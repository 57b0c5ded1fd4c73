"""Address switches as a technicians' wiki and several makers' manuals print them (no standard has them)."""

import pytest

from server.rig.switches import Bank, address_of, switches_of

__all__: list[str] = []

# Switch k is worth 2^(k-1). 247 is the wiki's own example; the others were worked out by hand from that
# rule. Left: counted from 1; right: counted from 0, the switches of (address - 1).
PRINTED = [
    (1, "1", ""),
    (2, "2", "1"),
    (25, "1 4 5", "4 5"),
    (50, "2 5 6", "1 5 6"),
    (100, "3 6 7", "1 2 6 7"),
    (169, "1 4 6 8", "4 6 8"),
    (247, "1 2 3 5 6 7 8", "2 3 5 6 7 8"),
    (256, "9", "1 2 3 4 5 6 7 8"),
    (279, "1 2 3 5 9", "2 3 5 9"),
    (300, "3 4 6 9", "1 2 4 6 9"),
    (433, "1 5 6 8 9", "5 6 8 9"),
    (511, "1 2 3 4 5 6 7 8 9", "2 3 4 5 6 7 8 9"),
    (512, None, "1 2 3 4 5 6 7 8 9"),
]


def on(switches: tuple[bool, ...]) -> str:
    return " ".join(str(n) for n, is_on in enumerate(switches, 1) if is_on)


@pytest.mark.parametrize(("address", "direct", "from_zero"), PRINTED)
def test_the_switches_are_those_printed(address: int, direct: str | None, from_zero: str) -> None:
    assert on(switches_of(address, Bank(from_zero=True))) == from_zero
    if direct is None:
        with pytest.raises(ValueError, match="cannot be set with nine switches"):
            switches_of(address)
    else:
        assert on(switches_of(address)) == direct


def test_the_address_of_3_4_6_and_9_is_300_or_301() -> None:
    switches = tuple(n in {3, 4, 6, 9} for n in range(1, 10))
    assert address_of(switches) == 300
    assert address_of(switches, Bank(from_zero=True)) == 301


def test_511_reads_back_from_a_unit_of_ten_switches_whatever_the_tenth_does() -> None:
    # One manual uses the tenth to choose between three and four slots: it is no address bit.
    for tenth in (False, True):
        assert address_of((True,) * 9 + (tenth,), Bank(10)) == 511
