"""Start addresses on a bank of little switches: which are on, and how the bank looks on the unit."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.rig.universe import SLOTS

__all__ = ["ADDRESS_SWITCHES", "Bank", "address_of", "drawn", "switches_of"]

ADDRESS_SWITCHES = 9  # 1, 2, 4 ... 256; common practice, no standard: makers' manuals agree on these


@dataclass(frozen=True, slots=True)
class Bank:
    """A unit's switches. count: how many, at least nine; those behind the ninth are no part of the address.

    from_zero: the switches count 0 to 511, all off is address 1. tenth: whether the tenth is to be on, which
    means something else on each unit (mode, stand-alone, self test). mirrored: number 1 is at the right.
    on_down: a switch is on when it is down.
    """

    count: int = ADDRESS_SWITCHES
    from_zero: bool = False
    tenth: bool = False
    mirrored: bool = False
    on_down: bool = False

    def __post_init__(self) -> None:
        if self.count < ADDRESS_SWITCHES:
            raise ValueError(f"{self.count} switches do not make an address: it takes {ADDRESS_SWITCHES}")
        if self.tenth and self.count == ADDRESS_SWITCHES:
            raise ValueError("there is no tenth switch")


def switches_of(address: int, bank: Bank = Bank()) -> tuple[bool, ...]:
    """Which switches are on for a start address 1-512, switch 1 first.

    Raises ValueError: no address, or 512 where the switches count from 1, which nine of them cannot show.
    """
    if not 1 <= address <= SLOTS:
        raise ValueError(f"{address} is no address: 1 to {SLOTS}")
    number = address - 1 if bank.from_zero else address
    if number >= 1 << ADDRESS_SWITCHES:
        raise ValueError(f"{address} cannot be set with nine switches that count from 1: 511 is the last")
    on = [bool(number >> switch & 1) for switch in range(ADDRESS_SWITCHES)]
    more = [bank.tenth and switch == 0 for switch in range(bank.count - ADDRESS_SWITCHES)]
    return (*on, *more)


def address_of(switches: Sequence[bool], bank: Bank = Bank()) -> int:
    """The start address 1-512 that these switches show, switch 1 first; those behind the ninth say nothing.

    Raises ValueError: not as many as the bank has, or all off where they count from 1: units disagree on
    what that is (1, 512, a self test).
    """
    if len(switches) != bank.count:
        raise ValueError(f"{len(switches)} switches of {bank.count} are told")
    number = sum(1 << switch for switch, on in enumerate(switches[:ADDRESS_SWITCHES]) if on)
    if number == 0 and not bank.from_zero:
        raise ValueError("all nine off is no address where they count from 1")
    return number + 1 if bank.from_zero else number


def drawn(switches: Sequence[bool], bank: Bank = Bank()) -> tuple[tuple[int, bool], ...]:
    """The bank as one sees it, from left to right: the number of each switch, and whether it is up."""
    seen = [(number, on != bank.on_down) for number, on in enumerate(switches, 1)]
    return tuple(reversed(seen) if bank.mirrored else seen)
