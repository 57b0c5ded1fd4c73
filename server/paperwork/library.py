"""The profiles to choose from: those shipped, and those that people have added to the show."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from server.paperwork.problems import FileError, Problem
from server.paperwork.profiles import profile_from_json
from server.rig.profile import Profile

__all__ = ["Library", "read_folder"]

SCHEMA = "schema.json"


class Library(Mapping[str, Profile]):
    """Profiles by key, in reading order of their names. Where two share a key, the added one wins."""

    def __init__(self, shipped: Iterable[Profile], added: Iterable[Profile] = ()) -> None:
        profiles = {profile.key: profile for profile in (*shipped, *added)}
        self._profiles = dict(sorted(profiles.items(), key=lambda item: item[1].name.casefold()))
        self._words = {key: _words(profile) for key, profile in self._profiles.items()}

    def __getitem__(self, key: str) -> Profile:
        return self._profiles[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._profiles)

    def __len__(self) -> int:
        return len(self._profiles)

    def search(self, words: str = "") -> list[Profile]:
        """Profiles in which every word of `words` occurs: best first, all of them for no words.

        A word that a name begins with counts most, then one inside a name, then one anywhere else.
        """
        wanted = words.casefold().split()
        ranked = []
        for key, profile in self._profiles.items():
            name, rest = self._words[key]
            if all(word in name or word in rest for word in wanted):
                ranked.append((sum(_rank(word, name) for word in wanted), profile))
        return [profile for _, profile in sorted(ranked, key=lambda pair: pair[0])]

    def with_added(self, profile: Profile) -> "Library":
        """A library that also holds `profile`; this one stays as it is."""
        return Library(self._profiles.values(), (profile,))


def _words(profile: Profile) -> tuple[str, str]:
    modes = " ".join(mode.name for mode in profile.modes)
    name = f" {profile.name} {profile.short_name} {profile.key} ".casefold()
    return name, f"{profile.maker} {profile.kind} {modes} {profile.notes}".casefold()


def _rank(word: str, name: str) -> int:
    return 0 if f" {word}" in name else 1 if word in name else 2


def read_folder(folder: Path) -> list[Profile]:
    """Every profile of the folder, by file name.

    Raises FileError naming the file of each problem: a shipped profile that is wrong is a fault of
    this program and must not go unseen. Raises OSError: the folder cannot be read.
    """
    found: list[Problem] = []
    profiles = []
    for path in sorted(folder.glob("*.json")):
        if path.name == SCHEMA:
            continue
        try:
            profiles.append(profile_from_json(path.read_bytes()))
        except FileError as wrong:
            found += [Problem(f"{path.name}, {p.where}", p.why) for p in wrong.problems]
    if found:
        raise FileError(found)
    return profiles
