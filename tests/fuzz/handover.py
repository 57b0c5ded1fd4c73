"""Hand-over packs that somebody brings: one that is read back as it was, or NotAPackError."""

from server.paperwork.handover import NotAPackError, read_pack, write_pack
from server.paperwork.handover_compare import Compared, compare
from server.paperwork.handover_file import pack_in, zipped
from tests.handovers import packed

__all__ = ["SEEDS", "WORDS", "one"]

SEEDS = (write_pack(packed()), zipped(b"%PDF", write_pack(packed()), {"looks": "Look\r\n"}))
WORDS = (
    b'"units"',
    b'"starts"',
    b'"looks"',
    b'"fixture"',
    b"pack.json",
    b"PK\x01\x02",
    b"1e309",
    b"NaN",
    b"[[",
)


def one(data: bytes) -> None:
    """What is taken can be compared, and differs from itself in nothing but what is still broken."""
    try:
        read = pack_in(data)
    except NotAPackError:
        return
    assert read_pack(write_pack(read)) == read
    same = compare(read, read)
    assert same == Compared(still=same.still)
