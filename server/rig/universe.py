"""Universes, slots and addresses: how they count and what they may be."""

from dataclasses import dataclass

__all__ = ["SLOTS", "UNIVERSE_LAST", "OffLimits", "absolute_address", "last_start", "split_absolute"]

SLOTS = 512  # E1.31-2018, 6.1: at most 512 data slots behind the START code
UNIVERSE_LAST = 63999  # E1.31-2018, 6.2.7: universes 1 to 63999


@dataclass(frozen=True, slots=True)
class OffLimits:
    """Slots of one universe that are never driven, both ends included, and why, in words."""

    universe: int
    first: int
    last: int
    why: str

    def holds(self, universe: int, first: int, last: int) -> bool:
        """Whether any slot first..last of that universe is off limits."""
        return universe == self.universe and first <= self.last and last >= self.first


def absolute_address(universe: int, slot: int) -> int:
    """One number for universe and slot: (universe - 1) * 512 + slot.

    Source: DIN SPEC 15800 (GDTF) DMXAddress, DIN SPEC 15801 (MVR) Address.
    """
    return (universe - 1) * SLOTS + slot


def split_absolute(address: int) -> tuple[int, int]:
    """Universe from 1 and slot 1-512 of an absolute address from 1.

    Raises ValueError: below 1, or beyond universe 63999.
    """
    if not 1 <= address <= absolute_address(UNIVERSE_LAST, SLOTS):
        raise ValueError(f"{address} is no absolute address (1 to {absolute_address(UNIVERSE_LAST, SLOTS)})")
    return (address - 1) // SLOTS + 1, (address - 1) % SLOTS + 1


def last_start(footprint: int) -> int:
    """The last start address at which `footprint` slots still fit into a universe: 513 - footprint."""
    return SLOTS + 1 - footprint
