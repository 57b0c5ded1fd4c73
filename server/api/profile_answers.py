"""What the calls about profiles and the library answer, as `answers.py` lists it."""

from typing import Any

from pydantic import Field

from server.api.patch_answers import Answer

__all__ = [
    "CheckAnswer",
    "DraftAnswer",
    "FileProblem",
    "LibraryAnswer",
    "ProfileAdded",
    "ProfileFound",
    "ProfilesAdded",
    "StarAnswer",
    "TriedAnswer",
]


class _ModeListed(Answer):
    name: str
    footprint: int = Field(ge=0)


class ProfileListed(Answer):
    """A profile in the list: its modes by name and number of slots, of all start addresses together.

    revised: when its maker's file was last, where that says so.
    """

    key: str
    name: str
    maker: str
    kind: str
    revised: str
    modes: list[_ModeListed]


class ProfileFound(ProfileListed):
    """The same where it is looked for: whether this show has starred it, and its fixtures of that kind."""

    starred: bool
    fixtures: int


class StarAnswer(Answer):
    """Whether the profile has a star now."""

    starred: bool


class FileProblem(Answer):
    """What is wrong with a file, or was left out of it, and where."""

    where: str
    why: str


class ProfileAdded(ProfileListed):
    """The same once it was added, and what of its file was left out."""

    problems: list[FileProblem]


class ProfilesAdded(Answer):
    """What became of many files: profiles and their keys, files without one, what was left out, by file."""

    added: int
    failed: int
    keys: list[str]
    problems: list[FileProblem]


class LibraryAnswer(Answer):
    """Profiles on this laptop, files still to be read, and files that cannot be used."""

    profiles: int
    left: int
    problems: list[FileProblem]


class DraftAnswer(Answer):
    """A draft as the file format has it, what of the chart it lacks, by line, and what is wrong with it."""

    profile: dict[str, Any] | None
    report: list[FileProblem]
    problems: list[FileProblem]


class CheckAnswer(Answer):
    """All that is wrong; nothing where the profile may be used."""

    problems: list[FileProblem]


class _Was(Answer):
    profile: str
    mode: str


class TriedAnswer(_Was):
    """What the fixture is now, and what it was."""

    was: _Was
