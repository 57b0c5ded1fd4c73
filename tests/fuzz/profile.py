"""Profiles as JSON: one that comes back as it was, or FileError."""

from server.paperwork.problems import FileError, Problem
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.places import profiles_folder
from server.rig.profile import Profile

__all__ = ["SEEDS", "WORDS", "one"]

SEEDS = tuple(
    (profiles_folder() / f"{name}.json").read_bytes()
    for name in ("dimmer", "rgbw-wash", "moving-wash-led", "hazer", "pixel-bar")
    if (profiles_folder() / f"{name}.json").is_file()
)
WORDS = (
    b'"cells"',
    b'"dmx"',
    b'"offset"',
    b'"functions"',
    b'"ranges"',
    b'"guard"',
    b'"multiply"',
    b"1e309",
    b"NaN",
)


def one(data: bytes) -> None:
    """Each problem of a refused one has words."""
    read = _read(data)
    if isinstance(read, Profile):
        assert profile_from_json(profile_to_json(read)) == read
    else:
        assert read
        assert all(problem.why for problem in read)


def _read(data: bytes) -> Profile | tuple[Problem, ...]:
    try:
        return profile_from_json(data)
    except FileError as wrong:
        return tuple(wrong.problems)
