"""The hand-over pack as a zip, and its small part read back out of one that somebody brings."""

import io
import zipfile
from collections.abc import Mapping

from server.paperwork.archive import BROKEN, ENTRIES_MOST, METHODS
from server.paperwork.handover import PACK_MOST, NotAPackError, Pack, read_pack
from server.rig.said import Said

__all__ = ["PACK", "TABLES", "pack_in", "zipped"]

PACK = "pack.json"
TABLES = "tables/"


def zipped(paper: bytes, pack: bytes, tables: Mapping[str, str]) -> bytes:
    """The zip. tables: CSV by name without its ending.

    They begin with the mark, or a spreadsheet reads every accent wrong.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("handover.pdf", paper)
        archive.writestr(PACK, pack)
        for name, text in tables.items():
            archive.writestr(f"{TABLES}{name}.csv", text.encode("utf-8-sig"))
    return out.getvalue()


def pack_in(data: bytes) -> Pack:
    """The pack in a zip, or in its JSON alone. Raises NotAPackError, and nothing else, for any octets."""
    if not data.startswith(b"PK"):
        return read_pack(data)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            found = [entry for entry in archive.infolist()[:ENTRIES_MOST] if entry.filename == PACK]
            if len(found) != 1 or found[0].flag_bits & 1 or found[0].compress_type not in METHODS:
                raise NotAPackError(Said("This is not a hand-over pack of focuscall."))
            with archive.open(found[0]) as member:
                text = member.read(PACK_MOST + 1)  # whatever the directory says about its size
    except NotAPackError:
        raise
    except BROKEN:
        raise NotAPackError(Said("This is not a hand-over pack of focuscall.")) from None
    return read_pack(text)
