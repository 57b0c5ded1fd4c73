"""Universes, slots and addresses: how they count and what they may be."""

from dataclasses import dataclass

from server.rig.said import Said

__all__ = [
    "PORT_ADDRESS_LAST",
    "SLOTS",
    "UNIVERSE_LAST",
    "OffLimits",
    "Reserved",
    "absolute_address",
    "last_start",
    "port_address_of",
    "port_address_said",
    "split_absolute",
]

SLOTS = 512  # E1.31-2018, 6.1: at most 512 data slots behind the START code
UNIVERSE_LAST = 63999  # E1.31-2018, 6.2.7: universes 1 to 63999
PORT_ADDRESS_LAST = 32767  # Art-Net 4, Universe Addressing: 15 bits


@dataclass(frozen=True, slots=True)
class _Slots:
    """Slots of one universe, both ends included, and what is about them, in words."""

    universe: int
    first: int
    last: int
    why: str

    def holds(self, universe: int, first: int, last: int) -> bool:
        """Whether any slot first..last of that universe is one of these."""
        return universe == self.universe and first <= self.last and last >= self.first


class OffLimits(_Slots):
    """Slots that are never driven, and why."""

    __slots__ = ()


class Reserved(_Slots):
    """Slots kept for something else, and what: patching there is told of, not refused."""

    __slots__ = ()


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


def port_address_of(universe: int, offset: int) -> int | None:
    """The Art-Net Port-Address that universe is sent to; None where Art-Net has none for it.

    offset: universe less Port-Address, 0 or 1: no standard ties Art-Net's count to that of sACN.
    """
    port = universe - offset
    return port if 0 <= port <= PORT_ADDRESS_LAST else None


def port_address_said(port_address: int) -> Said:
    """How a node's own page asks for it: 15 bits as net (7), sub-net (4) and universe (4).

    Source: Art-Net 4, Universe Addressing.
    """
    return Said(
        "Art-Net {port}: net {net}, sub-net {sub_net}, universe {universe}",
        port=port_address,
        net=port_address >> 8,
        sub_net=port_address >> 4 & 15,
        universe=port_address & 15,
    )
