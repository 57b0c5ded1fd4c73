"""The bytes of a profile file, whichever of its two kinds it is, as a profile."""

from server.paperwork.gdtf import read_gdtf
from server.paperwork.problems import FileError, Problem
from server.paperwork.profiles import profile_from_json
from server.rig.profile import Profile

__all__ = ["FILE_MOST", "ZIP", "read_profile"]

FILE_MOST = 32 * 2**20  # fixture files seen are a tenth of it
ZIP = b"PK"


def read_profile(data: bytes) -> tuple[Profile | None, list[Problem]]:
    """A profile file in JSON or a .gdtf file; problems: what was left out. Never raises, for any bytes."""
    if len(data) > FILE_MOST:
        return None, [Problem("", f"The file is larger than {FILE_MOST // 2**20} MiB.")]
    if data[:2] == ZIP:
        return read_gdtf(data)
    try:
        return profile_from_json(data), []
    except FileError as wrong:
        return None, list(wrong.problems)
