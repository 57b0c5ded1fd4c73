"""The memory both processes share: a file in the data folder, mapped by each.

Every part has one writer. What is more than one number is published, never overwritten: it is written
into the copy nobody reads, and then its version is counted up, which makes that copy the current one.
A reader that meets the version moving, or a check sum that does not fit, keeps what it had. So two slots
of one 16-bit control never leave as halves of two pictures, and a writer killed half-way leaves the old one
whole.

The check sum is for processors that let another core see stores in another order, and for a file that was
cut off with the power. It costs as much as all else, so who reads 44 times a second what a living writer
writes leaves it out on x86, whose stores are seen in the order they were made (Intel SDM 3A, 9.2.2 and 9.2.4;
AMD64 APM 2, 7.2): a version that is the same before and after is proof enough there.
"""

import mmap
import os
import struct
import sys
from pathlib import Path
from zlib import crc32

from server.output.plan import MOST_UNIVERSES

__all__ = ["ENDED", "FRESH", "RUNNING", "SLOTS", "Octets", "SharedMap"]

Octets = bytes | bytearray | memoryview

MAGIC = b"fc-output"
VERSION = 2
SLOTS = 512
FRESH, RUNNING, ENDED = 0, 1, 2  # the process: not yet seen, at work, ended as asked

_MACHINE = os.uname().machine if hasattr(os, "uname") else sys.version
_IN_ORDER = any(name in _MACHINE.lower() for name in ("x86_64", "amd64", "i686"))
_PLAN_OCTETS = 1 << 20
_ERROR_OCTETS = 480

# The first four keep their places in every version: a newer program must be able to end an older process.
# end_asked and plan_version lie before the pictures' versions: one look sees all that is new.
_U32 = {
    "version": 4,
    "state": 5,
    "pid": 6,
    "end_asked": 1022,
    "wake_port": 8,
    "web_pid": 9,
    "artnet_port": 10,
    "sync_sequence": 11,
    "plan_version": 1023,
}
_F64 = {"beat": 8, "web_beat": 9, "writing": 10}  # monotonic seconds
_PLAN_HEADS = (96, 104)  # length and check sum of either copy
_ERROR_AT = 512
_NEWS_AT = 4088
_VERSIONS_AT = 4096
_UNIVERSES_AT = _VERSIONS_AT + 4 * MOST_UNIVERSES
_FORGOTTEN_AT = _UNIVERSES_AT + 4 * MOST_UNIVERSES
_CHECKS_AT = _FORGOTTEN_AT + 4 * MOST_UNIVERSES
_FRAMES_AT = _CHECKS_AT + 2 * 4 * MOST_UNIVERSES
_ERRORS_AT = _FRAMES_AT + 8 * MOST_UNIVERSES
_LAST_SENT_AT = _ERRORS_AT + 8 * MOST_UNIVERSES
_SACN_AT = _LAST_SENT_AT + 8 * MOST_UNIVERSES
_ARTNET_AT = _SACN_AT + MOST_UNIVERSES
_RANKED_AT = _ARTNET_AT + MOST_UNIVERSES
_LOOKS_AT = _RANKED_AT + 2 * MOST_UNIVERSES
_PICTURES_AT = 1 << 16
_PICTURE_OCTETS = 2 * SLOTS  # levels, then priorities
_PLANS_AT = _PICTURES_AT + 2 * _PICTURE_OCTETS * MOST_UNIVERSES
_OCTETS = _PLANS_AT + 2 * _PLAN_OCTETS


class SharedMap:
    """One end of the shared memory. A block is a universe's place in it, 0 to MOST_UNIVERSES - 1.

    Attributes, each indexed by block: versions (of the picture), universes (0: free block), frames, errors,
    last_sent (monotonic seconds), sacn_sequences and artnet_sequences (0-255, the number sent last), looks
    (monotonic seconds: at that time or just after it the process looks by itself; 0.0: it promises nothing).
    """

    def __init__(self, path: Path) -> None:
        """Map an existing file. Raises OSError: no such file. Raises ValueError: not one of ours.

        One of another version is mapped too, so that its process can be ended: only what `number` gives is
        sure to be in its place there.
        """
        with path.open("r+b") as file:
            if os.fstat(file.fileno()).st_size < _PICTURES_AT:
                raise ValueError(f"{path} is not a shared map of the output.")
            self._map = mmap.mmap(file.fileno(), 0)
        version = struct.unpack_from("=I", self._map, 16)[0]
        if self._map[: len(MAGIC)] != MAGIC or (version == VERSION and len(self._map) < _OCTETS):
            raise ValueError(f"{path} is not a shared map of the output.")
        whole = self._whole = memoryview(self._map)
        self._u32 = whole.cast("I")
        self._f64 = whole.cast("d")
        self.versions = _column(whole, _VERSIONS_AT, 4).cast("I")
        self.universes = _column(whole, _UNIVERSES_AT, 4).cast("I")
        self._forgotten = _column(whole, _FORGOTTEN_AT, 4).cast("I")
        self._checks = _column(whole, _CHECKS_AT, 8).cast("I")
        self.frames = _column(whole, _FRAMES_AT, 8).cast("Q")
        self.errors = _column(whole, _ERRORS_AT, 8).cast("Q")
        self.last_sent = _column(whole, _LAST_SENT_AT, 8).cast("d")
        self.sacn_sequences = _column(whole, _SACN_AT, 1)
        self.artnet_sequences = _column(whole, _ARTNET_AT, 1)
        # Whether either copy has priorities: most have none, and then nobody copies 512 zeros.
        self._ranked = whole[_RANKED_AT : _RANKED_AT + 2 * MOST_UNIVERSES]
        self.looks = _column(whole, _LOOKS_AT, 8).cast("d")

    @staticmethod
    def create(path: Path) -> None:
        """Write a new, empty file in place of whatever is there.

        Raises OSError: no room. Every octet is really written: a hole in the file would be filled when a
        level is, and a disk that is full by then would kill the process. Written in one go, Linux keeps it in
        huge pages, and then all of it counts as in use by both processes, whatever they touch.
        """
        fresh = path.with_suffix(".new")
        head = MAGIC.ljust(16, b"\0") + struct.pack("=II", VERSION, FRESH)
        with fresh.open("wb", buffering=0) as file:
            file.write(head.ljust(_PICTURES_AT, b"\0"))
            for at in range(_PICTURES_AT, _OCTETS, _PICTURES_AT):
                file.write(bytes(min(_PICTURES_AT, _OCTETS - at)))
        fresh.replace(path)

    def close(self) -> None:
        """Let go of the memory; the file stays."""
        for columns in (
            (self.versions, self.universes, self._forgotten, self._checks, self.frames, self.errors),
            (self.last_sent, self.sacn_sequences, self.artnet_sequences, self._ranked, self.looks),
            (self._u32, self._f64, self._whole),
        ):
            for column in columns:
                column.release()
        self._map.close()

    def number(self, name: str) -> int:
        """One of: version, state, end_asked, pid, wake_port, web_pid, artnet_port, sync_sequence,
        plan_version.

        artnet_port: what Art-Net leaves from; 0 while nobody knows. sync_sequence: of the last
        synchronisation packet by sACN.
        """
        return self._u32[_U32[name]]

    def set_number(self, name: str, value: int) -> None:
        """Set what `number` reads."""
        self._u32[_U32[name]] = value

    def time(self, name: str) -> float:
        """When the process (`beat`) or the web side (`web_beat`) last showed a sign of life.

        writing: since when pictures that belong together are being written; 0.0: they are whole.
        """
        return self._f64[_F64[name]]

    def set_time(self, name: str, now: float) -> None:
        """Set what `time` reads."""
        self._f64[_F64[name]] = now

    def news(self, blocks: int) -> bytes:
        """What changes whenever the web side has something new in the first `blocks` blocks or the plan.

        8 octets of its own, then 4 for each block.
        """
        return self._map[_NEWS_AT : _VERSIONS_AT + 4 * blocks]

    def publish(self, block: int, slots: Octets, each: Octets = b"") -> None:
        """Make these the block's picture: 512 levels, and 512 priorities of slots; none stand for zeros."""
        version = (self.versions[block] + 1) & 0xFFFFFFFF
        copy = 2 * block + (version & 1)
        at = _PICTURES_AT + _PICTURE_OCTETS * copy
        self._map[at : at + SLOTS] = slots
        check = crc32(slots)
        if each:
            self._map[at + SLOTS : at + _PICTURE_OCTETS] = each
            check = crc32(each, check)
        self._ranked[copy] = bool(each)
        self._checks[copy] = check
        self.versions[block] = version

    def picture(self, block: int, fresh: bool = False) -> tuple[bytes, bytes] | None:
        """The block's 512 levels and what `publish` got as priorities, 512 or none.

        fresh: the writer is alive and came after a picture that was whole.

        None when there is no picture, or not a whole one just now.
        """
        version = self.versions[block]
        copy = 2 * block + (version & 1)
        at = _PICTURES_AT + _PICTURE_OCTETS * copy
        slots = self._map[at : at + SLOTS]
        each = self._map[at + SLOTS : at + _PICTURE_OCTETS] if self._ranked[copy] else b""
        if not (fresh and _IN_ORDER) and crc32(each, crc32(slots)) != self._checks[copy]:
            return None
        if version == self._forgotten[block] or self.versions[block] != version:
            return None
        return slots, each

    def has_picture(self, block: int) -> bool:
        """Whether there is one at all."""
        return self.versions[block] != self._forgotten[block]

    def forget(self, block: int) -> None:
        """No picture any more: nothing is sent from this block until there is a new one."""
        # The version goes on counting: the next picture must look new to the process.
        self._forgotten[block] = self.versions[block]

    def publish_plan(self, text: bytes) -> None:
        """Make this the plan. Raises ValueError: more than 1 MiB."""
        if len(text) > _PLAN_OCTETS:
            raise ValueError(f"A plan of {len(text)} octets is more than {_PLAN_OCTETS}.")
        version = self.number("plan_version") % 0xFFFFFFFF + 1
        copy = version & 1
        at = _PLANS_AT + copy * _PLAN_OCTETS
        self._map[at : at + len(text)] = text
        struct.pack_into("=II", self._map, _PLAN_HEADS[copy], len(text), crc32(text))
        self.set_number("plan_version", version)

    def plan(self) -> tuple[int, bytes] | None:
        """The plan's version and text; None when there is none, or not a whole one just now."""
        version = self.number("plan_version")
        copy = version & 1
        length, check = struct.unpack_from("=II", self._map, _PLAN_HEADS[copy])
        at = _PLANS_AT + copy * _PLAN_OCTETS
        text = self._map[at : at + min(length, _PLAN_OCTETS)]
        if version == 0 or self.number("plan_version") != version or crc32(text) != check:
            return None
        return version, text

    def set_error(self, words: str) -> None:
        """What last went wrong, for a person; nothing when all is well."""
        text = words.encode()[:_ERROR_OCTETS]
        self._map[_ERROR_AT : _ERROR_AT + _ERROR_OCTETS] = text.ljust(_ERROR_OCTETS, b"\0")

    def error(self) -> str:
        """What `set_error` was told last."""
        text = self._map[_ERROR_AT : _ERROR_AT + _ERROR_OCTETS]
        return text.rstrip(b"\0").decode(errors="ignore")


def _column(whole: memoryview, at: int, size: int) -> memoryview:
    return whole[at : at + size * MOST_UNIVERSES]
