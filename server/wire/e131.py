"""Streaming ACN (ANSI E1.31-2018): packets built once and patched in place, and our own strict decoder."""

import struct
from collections.abc import Sequence
from dataclasses import dataclass

from sacn.messages.data_packet import DataPacket
from sacn.messages.sync_packet import SyncPacket
from sacn.messages.universe_discovery import UniverseDiscoveryPacket

from server.wire.error import WireError

__all__ = [
    "DISCOVERY_INTERVAL_S",
    "DISCOVERY_UNIVERSE",
    "FORCE_SYNC",
    "LAST_UNIVERSE",
    "LOSS_S",
    "MAX_PRIORITY",
    "OPTIONS_AT",
    "PORT",
    "PRIORITIES",
    "PRIORITY_AT",
    "SEQUENCE_AT",
    "SLOTS",
    "START_CODE_AT",
    "SYNC_AT",
    "SYNC_SEQUENCE_AT",
    "TERMINATED",
    "TERMINATE_PACKETS",
    "UNIVERSE_AT",
    "Data",
    "Discovery",
    "Sync",
    "data_packet",
    "decode",
    "discovery_pages",
    "is_late",
    "multicast_address",
    "multicast_address_v6",
    "shorten_source_name",
    "sync_packet",
]

PORT = 5568  # E1.31-2018, Appendix A; fixed for multicast, default for unicast (9.1.1)
LAST_UNIVERSE = 63999  # 6.2.7
DISCOVERY_UNIVERSE = 64214  # Appendix A
DISCOVERY_INTERVAL_S = 10.0  # Appendix A
LOSS_S = 2.5  # 6.7.1
MAX_PRIORITY = 200  # 6.2.3
TERMINATE_PACKETS = 3  # 6.2.6
# START code of packets that hold a priority for each slot, 0: this level is not meant; the registrant's note
# on it, an extension outside the standard (named in 6.2.3.2).
PRIORITIES = 0xDD

# Where a data packet is patched (Table 4-1). An octet changed here is the whole cost of a new packet.
PRIORITY_AT = 108
SYNC_AT = slice(109, 111)
SEQUENCE_AT = 111
OPTIONS_AT = 112
UNIVERSE_AT = slice(113, 115)
START_CODE_AT = 125
SLOTS = slice(126, 638)
TERMINATED = 0x40  # bit 6 of the options (6.2.6)
FORCE_SYNC = 0x20  # bit 5: without synchronisation packets, follow data again rather than hold

SYNC_SEQUENCE_AT = 44  # in a synchronisation packet (Table 4-2)
_IDENTIFIER = b"ASC-E1.17\0\0\0"
_DATA_HEAD = struct.Struct(">16xH4x16sH4x64sBH2B2H6xHB")  # Table 4-1, up to the START code
_DATA_FIXED = (  # what it leaves out, and Table 4-1 prescribes
    (slice(0, 16), b"\0\x10\0\0" + _IDENTIFIER),
    (slice(18, 22), b"\0\0\0\4"),
    (slice(40, 44), b"\0\0\0\2"),
    (slice(117, 123), b"\2\xa1\0\0\0\1"),
)
_NAME_OCTETS = 63  # of 64, the last is the NUL (6.2.2)
_PAGE_UNIVERSES = 512  # 8.5


@dataclass(frozen=True, slots=True)
class Data:
    """One data packet. cid: 16 octets. slots: 0-512 octets, a view of the datagram, slot 1 first.

    priority is 0-200; a received 201-255 counts as 200 and stays readable in sent_priority.
    start_code 0 carries levels; anything else must never reach a level buffer.
    """

    cid: bytes
    source_name: str
    priority: int
    sent_priority: int
    sync_address: int
    sequence: int
    preview: bool
    terminated: bool
    force_sync: bool
    universe: int
    start_code: int
    slots: memoryview


@dataclass(frozen=True, slots=True)
class Sync:
    """One synchronisation packet: data held for `sync_address` (1-63999) is to be acted on now."""

    cid: bytes
    sequence: int
    sync_address: int


@dataclass(frozen=True, slots=True)
class Discovery:
    """One page of the list of universes a source sends. Pages count from 0 to last_page."""

    cid: bytes
    source_name: str
    page: int
    last_page: int
    universes: tuple[int, ...]


def data_packet(cid: bytes, source_name: str, universe: int, priority: int = 100) -> bytearray:
    """A full data packet of 638 octets: every slot 0, sequence 0, no options; patch it in place.

    Raises ValueError: universe not 1-63999, priority not 0-200, a name of more than 63 UTF-8 octets or with
    a NUL in it, a CID that is not 16 octets.  Source: E1.31-2018, Table 4-1.
    """
    _refuse_nul(source_name)
    return bytearray(DataPacket(tuple(cid), source_name, universe, priority=priority).getBytes())


def sync_packet(cid: bytes, sync_address: int, sequence: int = 0) -> bytearray:
    """A synchronisation packet of 49 octets.  Source: E1.31-2018, Table 4-2.

    Raises ValueError: sync_address not 1-63999, sequence not 0-255.
    """
    return bytearray(SyncPacket(tuple(cid), sync_address, sequence).getBytes())


def discovery_pages(cid: bytes, source_name: str, universes: Sequence[int]) -> list[bytes]:
    """Every page of a source's list of universes, 512 a page, sorted; no universes, no page.

    Raises ValueError: a universe not 0-63999, a bad name or CID.  Source: E1.31-2018, Table 4-3, 8.
    """
    _refuse_nul(source_name)
    # The package's own paging sorts its argument in place, so it gets a list of its own.
    pages = UniverseDiscoveryPacket.make_multiple_uni_disc_packets(tuple(cid), source_name, list(universes))
    return [bytes(page.getBytes()) for page in pages]


def shorten_source_name(name: str) -> str:
    """The longest beginning of `name` that fits its 63 UTF-8 octets; NULs left out (E1.31-2018, 6.2.2)."""
    return name.replace("\0", "").encode()[:_NAME_OCTETS].decode(errors="ignore")


def multicast_address(universe: int) -> str:
    """The IPv4 group of a universe (E1.31-2018, 9.3.1): 1-63999, or 64214 for discovery.

    Raises ValueError: any other number.
    """
    _refuse_universe(universe)
    return f"239.255.{universe >> 8}.{universe & 255}"


def multicast_address_v6(universe: int) -> str:
    """The IPv6 group of a universe, by the octets of Table 9-12 (the running text reads differently).

    Raises ValueError: not 1-63999 and not 64214.
    """
    _refuse_universe(universe)
    return f"ff18::8300:{universe:x}"


def is_late(last: int, new: int) -> bool:
    """Whether a packet numbered `new` must be discarded after `last` was accepted (E1.31-2018, 6.7.2)."""
    # Signed 8-bit difference; 20 or more behind is a source that restarted.
    return -20 < (new - last + 128) % 256 - 128 <= 0


def decode(packet: bytes) -> Data | Sync | Discovery:
    """Read one datagram. Octets after the end of its protocol data unit are ignored.

    Raises WireError: whatever E1.31-2018 tells a receiver to discard (5 to 8), lengths that contradict each
    other or the datagram, and universes out of range.
    """
    data = _ordinary_data(packet)
    if data is not None:
        return data
    _need(packet, 44, "5.4")
    _expect(packet, 0, 2, 0x0010, "preamble size", "5.1")
    _expect(packet, 2, 2, 0, "post-amble size", "5.2")
    if packet[4:16] != _IDENTIFIER:
        raise _error(4, "not the ACN packet identifier", "5.3")
    length = _length(packet, 16, "5.4")
    if length > len(packet) - 16:
        raise _error(16, f"length {length} is more than the datagram holds", "5.4")
    if _length(packet, 38, "6.1") != length - 22:
        raise _error(38, "the framing layer does not fill the root layer", "6.1")
    match _number(packet, 18, 4), _number(packet, 40, 4):
        case 4, 2:
            return _decode_data(packet, 16 + length)
        case 8, 1:
            return _decode_sync(packet, 16 + length)
        case 8, 2:
            return _decode_discovery(packet, 16 + length)
        case 4 | 8, framing:
            raise _error(40, f"unknown framing vector {framing:#x}", "6.5")
        case _:
            raise _error(18, "unknown root vector", "5.5")


def _ordinary_data(packet: bytes) -> Data | None:
    """A data packet that fills its datagram, as nearly all do, read in one go: nearly three times as fast.

    None: something else, or something wrong, which is then looked at field by field.
    """
    held = len(packet)
    if not 126 <= held <= 638:
        return None
    for where, octets in _DATA_FIXED:
        if packet[where] != octets:
            return None
    root, cid, framing, name, priority, sync_address, sequence, options, universe, dmp, count, start = (
        _DATA_HEAD.unpack_from(packet)
    )
    lengths = 0x7000 | held - 16, 0x7000 | held - 38, 0x7000 | held - 115, held - 125
    if (root, framing, dmp, count) != lengths or not 1 <= universe <= LAST_UNIVERSE:
        return None
    return Data(
        cid,
        name.split(b"\0", 1)[0].decode(errors="replace"),
        min(priority, MAX_PRIORITY),
        priority,
        sync_address,
        sequence,
        bool(options & 0x80),
        bool(options & TERMINATED),
        bool(options & 0x20),
        universe,
        start,
        memoryview(packet)[126:],
    )


def _decode_data(packet: bytes, end: int) -> Data:
    _need(packet, 126, "7.7")
    if _length(packet, 115, "7.1") != end - 115:
        raise _error(115, "the DMP layer does not fill the framing layer", "7.1")
    _expect(packet, 117, 1, 0x02, "DMP vector", "7.2")
    _expect(packet, 118, 1, 0xA1, "address and data type", "7.3")
    _expect(packet, 119, 2, 0, "first property address", "7.4")
    _expect(packet, 121, 2, 1, "address increment", "7.5")
    count = _number(packet, 123, 2)
    if count != end - 125 or not 1 <= count <= 513:
        raise _error(123, f"{count} property values where {end - 125} are held, 1 to 513", "7.6")
    options = packet[OPTIONS_AT]
    return Data(
        cid=packet[22:38],
        source_name=_name(packet),
        priority=min(packet[PRIORITY_AT], MAX_PRIORITY),
        sent_priority=packet[PRIORITY_AT],
        sync_address=_number(packet, 109, 2),
        sequence=packet[SEQUENCE_AT],
        preview=bool(options & 0x80),
        terminated=bool(options & TERMINATED),
        force_sync=bool(options & 0x20),
        universe=_universe(packet, 113, "6.2.7"),
        start_code=packet[125],
        slots=memoryview(packet)[126:end],
    )


def _decode_sync(packet: bytes, end: int) -> Sync:
    if end != 49:
        raise _error(16, f"a synchronisation packet of {end} octets, not 49", "4.2")
    return Sync(packet[22:38], packet[SYNC_SEQUENCE_AT], _universe(packet, 45, "6.3.3"))


def _decode_discovery(packet: bytes, end: int) -> Discovery:
    _need(packet, 120, "8.1")
    if _length(packet, 112, "8.1") != end - 112:
        raise _error(112, "the universe list does not fill the framing layer", "8.1")
    _expect(packet, 114, 4, 1, "universe discovery vector", "8.2")
    if end % 2 or end > 120 + 2 * _PAGE_UNIVERSES:
        raise _error(112, "not a whole list of at most 512 universes", "8.5")
    if packet[118] > packet[119]:
        raise _error(118, "a page after the last page", "8.3")
    universes = tuple(_universe(packet, at, "8.5") for at in range(120, end, 2))
    return Discovery(packet[22:38], _name(packet), packet[118], packet[119], universes)


def _number(packet: bytes, at: int, size: int) -> int:
    return int.from_bytes(packet[at : at + size], "big")


def _name(packet: bytes) -> str:
    return packet[44:108].split(b"\0", 1)[0].decode(errors="replace")


def _universe(packet: bytes, at: int, clause: str) -> int:
    universe = _number(packet, at, 2)
    if not 1 <= universe <= LAST_UNIVERSE:
        raise _error(at, f"universe {universe} is reserved", clause)
    return universe


def _length(packet: bytes, at: int, clause: str) -> int:
    flags_and_length = _number(packet, at, 2)
    if flags_and_length >> 12 != 7:
        raise _error(at, "flags are not 0x7", clause)
    return flags_and_length & 0xFFF


def _expect(packet: bytes, at: int, size: int, value: int, what: str, clause: str) -> None:
    found = _number(packet, at, size)
    if found != value:
        raise _error(at, f"{what} is {found:#x}, not {value:#x}", clause)


def _need(packet: bytes, octets: int, clause: str) -> None:
    if len(packet) < octets:
        raise _error(len(packet), f"ends before octet {octets}", clause)


def _error(octet: int, why: str, clause: str) -> WireError:
    return WireError(octet, why, f"E1.31-2018, {clause}")


def _refuse_nul(name: str) -> None:
    if "\0" in name:
        raise ValueError("A source name cannot hold a NUL.")


def _refuse_universe(universe: int) -> None:
    if not 1 <= universe <= LAST_UNIVERSE and universe != DISCOVERY_UNIVERSE:
        raise ValueError(f"Universe {universe} is not 1 to {LAST_UNIVERSE}.")
