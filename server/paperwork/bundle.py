"""Many profile files in one zip: those inside, one by one, within limits."""

import io
import zipfile
from collections.abc import Iterator
from pathlib import PurePosixPath

from server.paperwork.archive import BROKEN, METHODS
from server.paperwork.problems import Problem
from server.paperwork.read_profile import FILE_MOST, ZIP

__all__ = ["BUNDLE_MOST", "files_in", "held_in", "is_bundle"]

BUNDLE_MOST = 20_000  # files; four times the largest collection aimed at
UNPACKED_MOST = 2 * 2**30  # octets of all of them, read one after the other
KINDS = {".gdtf", ".json"}


def is_bundle(data: bytes) -> bool:
    """Whether this is an archive of profile files, and not one itself."""
    if data[:2] != ZIP:
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = archive.namelist()
    except BROKEN:
        return False
    return "description.xml" not in names and any(_kind(name) in KINDS for name in names)


def files_in(data: bytes) -> Iterator[tuple[str, bytes | Problem]]:
    """Name and bytes of each profile file inside, or what is wrong with it. A zip in the zip is not opened.

    Nothing is unpacked to disk; the name is its last part only, so that it leads nowhere.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > BUNDLE_MOST or sum(e.file_size for e in entries) > UNPACKED_MOST:
                yield "", Problem("", f"holds more than {BUNDLE_MOST} files or {UNPACKED_MOST // 2**30} GiB")
                return
            for entry in entries:
                if not entry.is_dir():
                    yield PurePosixPath(entry.filename).name[:120], _member(archive, entry)
    except BROKEN as wrong:
        yield "", Problem("", f"cannot be unpacked ({wrong or type(wrong).__name__})")


def held_in(data: bytes) -> int:
    """How many answers `files_in` gives at the most."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return sum(1 for entry in archive.infolist() if not entry.is_dir())
    except BROKEN:
        return 1


def _member(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes | Problem:
    if _kind(entry.filename) not in KINDS:
        return Problem("", "is no .gdtf and no .json file and is left out")
    if entry.flag_bits & 1 or entry.compress_type not in METHODS:
        return Problem("", "is encrypted or packed in a way that is not read here")
    try:
        with archive.open(entry) as member:
            data = member.read(FILE_MOST + 1)  # whatever the directory says about its size
    except BROKEN as wrong:
        return Problem("", f"cannot be unpacked ({wrong or type(wrong).__name__})")
    return Problem("", f"is larger than {FILE_MOST // 2**20} MiB") if len(data) > FILE_MOST else data


def _kind(name: str) -> str:
    return PurePosixPath(name).suffix.casefold()
