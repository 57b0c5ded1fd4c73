"""Art-Net 4 (document revision 1.4dn): ArtPoll, ArtPollReply, ArtDmx and ArtSync as values.

Art-Net(TM) Designed by and Copyright Artistic Licence.
"""

import struct
from dataclasses import dataclass

from server.wire.error import WireError

__all__ = [
    "DMX_SEQUENCE_AT",
    "DMX_SLOTS",
    "LAST_PORT_ADDRESS",
    "MERGE_LOSS_S",
    "NODE_LOST_S",
    "POLL_INTERVAL_S",
    "PORT",
    "STYLE_CONTROLLER",
    "STYLE_NODE",
    "Dmx",
    "Other",
    "Poll",
    "PollReply",
    "Sync",
    "decode",
    "dmx_packet",
    "encode_poll",
    "encode_poll_reply",
    "encode_sync",
    "next_sequence",
    "port_address_from_parts",
    "port_address_text",
]

PORT = 6454  # Protocol Operation; source and destination alike
LAST_PORT_ADDRESS = 32767  # Universe Addressing: 15 bits
POLL_INTERVAL_S = 2.7  # ArtPoll: every 2.5 to 3 s
NODE_LOST_S = 9.0  # ours: three polls without an answer; the document says one
MERGE_LOSS_S = 10.0  # Data Merging
STYLE_NODE, STYLE_CONTROLLER = 0, 1  # ArtPollReply, Style

# Where an ArtDmx is patched.
DMX_SEQUENCE_AT = 12
DMX_SLOTS = slice(18, 530)

_ID = b"Art-Net\0"
_POLL, _POLL_REPLY, _DMX, _SYNC = 0x2000, 0x2100, 0x5000, 0x5200  # Table 1
_VERSION = 14
_ESTA_PROTOTYPE = 0x7FF0  # we hold no registered code: the prototyping range
_OEM_UNKNOWN = 0x00FF
_SHORTEST_REPLY = 207  # Minimum Packet Length; what is missing reads as 0


@dataclass(frozen=True, slots=True)
class Poll:
    """Who is there? With a target, only nodes with a Port-Address inside (lowest, highest) answer."""

    flags: int = 0
    diagnostics_priority: int = 0
    target: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class PollReply:
    """One page of a node's answer. Four-octet fields are per port, as in the document (ArtPollReply)."""

    ip: str
    port: int = PORT
    firmware: int = 0
    net: int = 0
    sub_net: int = 0
    oem: int = _OEM_UNKNOWN
    ubea: int = 0
    status1: int = 0
    esta: int = _ESTA_PROTOTYPE
    port_name: str = ""
    long_name: str = ""
    node_report: str = ""
    num_ports: int = 0
    port_types: bytes = bytes(4)
    good_input: bytes = bytes(4)
    good_output: bytes = bytes(4)
    sw_in: bytes = bytes(4)
    sw_out: bytes = bytes(4)
    acn_priority: int = 0
    style: int = STYLE_NODE
    mac: bytes = bytes(6)
    bind_ip: str = "0.0.0.0"  # noqa: S104 - "not given", not an address to listen on
    bind_index: int = 0
    status2: int = 0
    good_output_b: bytes = bytes(4)
    status3: int = 0
    refresh_rate: int = 0

    @property
    def outputs(self) -> tuple[int, ...]:
        """Port-Addresses this page turns into DMX512 (PortTypes bit 7)."""
        return self._addresses(0x80, self.sw_out)

    @property
    def inputs(self) -> tuple[int, ...]:
        """Port-Addresses this page feeds from DMX512 (PortTypes bit 6)."""
        return self._addresses(0x40, self.sw_in)

    @property
    def merging(self) -> tuple[int, ...]:
        """Port-Addresses at which the node hears a second source now (GoodOutputA bit 3)."""
        return tuple(
            port_address_from_parts(self.net, self.sub_net, switch & 15)
            for kind, good, switch in zip(self.port_types, self.good_output, self.sw_out, strict=True)
            if kind & 0x80 and good & 0x08
        )

    def _addresses(self, kind_bit: int, switches: bytes) -> tuple[int, ...]:
        # An unused entry holds zeros and would look like Port-Address 0, so the kind decides.
        return tuple(
            port_address_from_parts(self.net, self.sub_net, switch & 15)
            for kind, switch in zip(self.port_types, switches, strict=True)
            if kind & kind_bit
        )


@dataclass(frozen=True, slots=True)
class Dmx:
    """Levels for one Port-Address. sequence 0: the source does not count. slots: 2-512 octets, a view."""

    sequence: int
    physical: int
    port_address: int
    slots: memoryview


@dataclass(frozen=True, slots=True)
class Sync:
    """Act on the levels received until now."""


@dataclass(frozen=True, slots=True)
class Other:
    """A packet of Art-Net that means nothing to us."""

    op_code: int


def port_address_from_parts(net: int, sub_net: int, universe: int) -> int:
    """Net 0-127, Sub-Net 0-15, Universe 0-15 as one Port-Address (Universe Addressing).

    Raises ValueError: a part out of range.
    """
    if not (0 <= net <= 127 and 0 <= sub_net <= 15 and 0 <= universe <= 15):
        raise ValueError(f"{net}:{sub_net}:{universe} is not a Port-Address (127:15:15 at most).")
    return net << 8 | sub_net << 4 | universe


def port_address_text(port_address: int) -> str:
    """Both usual forms: 4660 is `4660 (18:3:4)`."""
    return f"{port_address} ({port_address >> 8}:{port_address >> 4 & 15}:{port_address & 15})"


def next_sequence(sequence: int) -> int:
    """1 to 255, then 1 again; 0 would switch the receiver's check off (ArtDmx)."""
    return sequence % 255 + 1


def dmx_packet(port_address: int) -> bytearray:
    """An ArtDmx of 530 octets, every slot 0; patch sequence and slots in place.

    Raises ValueError: port_address not 0-32767.
    """
    if not 0 <= port_address <= LAST_PORT_ADDRESS:
        raise ValueError(f"Port-Address {port_address} is not 0 to {LAST_PORT_ADDRESS}.")
    return bytearray(_head(_DMX) + bytes(2) + struct.pack("<H", port_address) + b"\x02\x00" + bytes(512))


def encode_poll(poll: Poll) -> bytes:
    """An ArtPoll of 22 octets; targeted mode (bit 5) is set when the poll has a target."""
    lowest, highest = poll.target or (0, 0)
    flags = poll.flags | 0x20 if poll.target else poll.flags & ~0x20
    return _head(_POLL) + struct.pack(
        ">BBHHHH", flags, poll.diagnostics_priority, highest, lowest, _ESTA_PROTOTYPE, _OEM_UNKNOWN
    )


def encode_sync() -> bytes:
    """An ArtSync of 14 octets."""
    return _head(_SYNC) + bytes(2)


def encode_poll_reply(reply: PollReply) -> bytes:
    """An ArtPollReply of 239 octets.

    Raises ValueError: a name that does not fit (17, 63 and 63 octets of UTF-8), an address that is not IPv4.
    Raises OverflowError: a number that does not fit its octets.
    """
    return b"".join(
        (
            *(_ID, _low_first(_POLL_REPLY), _octets(reply.ip), _low_first(reply.port)),
            *(_high_first(reply.firmware), bytes((reply.net, reply.sub_net)), _high_first(reply.oem)),
            # The ESTA code is low octet first here and high octet first in ArtPoll.
            *(bytes((reply.ubea, reply.status1)), _low_first(reply.esta)),
            *(_padded(reply.port_name, 18), _padded(reply.long_name, 64), _padded(reply.node_report, 64)),
            *(_high_first(reply.num_ports), reply.port_types, reply.good_input, reply.good_output),
            *(reply.sw_in, reply.sw_out, bytes((reply.acn_priority, 0, 0, 0, 0, 0, reply.style))),
            *(reply.mac, _octets(reply.bind_ip), bytes((reply.bind_index, reply.status2))),
            *(reply.good_output_b, bytes((reply.status3,)), bytes(8), _high_first(reply.refresh_rate)),
            bytes(11),
        )
    )


def decode(packet: bytes) -> Poll | PollReply | Dmx | Sync | Other:
    """Read one datagram; fields missing from a short packet are 0, octets beyond the known ones ignored.

    Raises WireError: not Art-Net, an older protocol version, shorter than the shortest legal packet, or an
    ArtDmx whose length is odd, not 2-512 or more than the datagram holds.
    """
    if packet[:8] != _ID:
        raise _error(0, "not Art-Net", "General Notes")
    _need(packet, 10, "Minimum Packet Length")
    match int.from_bytes(packet[8:10], "little"):
        case 0x2000:
            return _decode_poll(packet)
        case 0x2100:
            return _decode_poll_reply(packet)
        case 0x5000:
            return _decode_dmx(packet)
        case 0x5200:
            return _decode_sync(packet)
        case op_code:
            return Other(op_code)


def _decode_poll(packet: bytes) -> Poll:
    _version(packet, 14)
    highest, lowest = struct.unpack_from(">HH", packet.ljust(22, b"\0"), 14)
    return Poll(packet[12], packet[13], (lowest, highest) if packet[12] & 0x20 else None)


def _decode_dmx(packet: bytes) -> Dmx:
    _version(packet, 18)
    sequence, physical, port_address = struct.unpack_from("<BBH", packet, 12)
    (length,) = struct.unpack_from(">H", packet, 16)
    if length % 2 or not 2 <= length <= 512:
        raise _error(16, f"length {length} is not even and 2 to 512", "ArtDmx, Length")
    if length > len(packet) - 18:
        raise _error(16, f"length {length} is more than the datagram holds", "ArtDmx, Length")
    if port_address > LAST_PORT_ADDRESS:
        raise _error(15, "the Port-Address has a sixteenth bit", "ArtDmx, Net")
    return Dmx(sequence, physical, port_address, memoryview(packet)[18 : 18 + length])


def _decode_sync(packet: bytes) -> Sync:
    _version(packet, 12)
    return Sync()


def _decode_poll_reply(packet: bytes) -> PollReply:
    _need(packet, _SHORTEST_REPLY, "Minimum Packet Length")
    full = packet.ljust(239, b"\0")
    return PollReply(
        ip=_dotted(full[10:14]),
        port=int.from_bytes(full[14:16], "little"),
        firmware=int.from_bytes(full[16:18], "big"),
        net=full[18] & 0x7F,
        sub_net=full[19] & 0x0F,
        oem=int.from_bytes(full[20:22], "big"),
        ubea=full[22],
        status1=full[23],
        esta=int.from_bytes(full[24:26], "little"),
        port_name=_text(full[26:44]),
        long_name=_text(full[44:108]),
        node_report=_text(full[108:172]),
        num_ports=int.from_bytes(full[172:174], "big"),
        port_types=full[174:178],
        good_input=full[178:182],
        good_output=full[182:186],
        sw_in=full[186:190],
        sw_out=full[190:194],
        acn_priority=full[194],
        style=full[200],
        mac=full[201:207],
        bind_ip=_dotted(full[207:211]),
        bind_index=full[211],
        status2=full[212],
        good_output_b=full[213:217],
        status3=full[217],
        refresh_rate=int.from_bytes(full[226:228], "big"),
    )


def _head(op_code: int) -> bytes:
    return _ID + _low_first(op_code) + _high_first(_VERSION)


def _low_first(number: int) -> bytes:
    return number.to_bytes(2, "little")


def _high_first(number: int) -> bytes:
    return number.to_bytes(2, "big")


def _octets(address: str) -> bytes:
    parts = address.split(".")
    if len(parts) != 4:
        raise ValueError(f"{address!r} is not an IPv4 address.")
    return bytes(int(part) for part in parts)


def _dotted(octets: bytes) -> str:
    return ".".join(str(octet) for octet in octets)


def _padded(text: str, size: int) -> bytes:
    octets = text.encode()
    if len(octets) >= size or b"\0" in octets:
        raise ValueError(f"{text!r} is more than {size - 1} octets of UTF-8, or holds a NUL.")
    return octets.ljust(size, b"\0")


def _text(octets: bytes) -> str:
    return octets.split(b"\0", 1)[0].decode(errors="replace")


def _version(packet: bytes, shortest: int) -> None:
    _need(packet, shortest, "Minimum Packet Length")
    version = int.from_bytes(packet[10:12], "big")
    if version < _VERSION:
        raise _error(10, f"protocol version {version} is older than {_VERSION}", "ProtVer")


def _need(packet: bytes, octets: int, section: str) -> None:
    if len(packet) < octets:
        raise _error(len(packet), f"ends before octet {octets}", section)


def _error(octet: int, why: str, section: str) -> WireError:
    return WireError(octet, why, f"Art-Net 4, {section}")
