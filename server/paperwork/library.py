"""The profiles to choose from: those shipped, those of the show, and those on the shelf of this laptop."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from server.paperwork.listed import Listed, bare, listed, words_in, words_of
from server.paperwork.problems import FileError, Problem
from server.paperwork.profiles import profile_from_json
from server.paperwork.shelf import Shelf
from server.rig.profile import Profile

__all__ = ["SEARCH_MOST", "Library", "read_folder"]

SCHEMA = "schema.json"
SEARCH_MOST = 200  # of the shelf's in one answer: nobody reads on, they type another letter
WORDS_MOST = 16  # of a search


class Library(Mapping[str, Profile]):
    """Profiles by key. Where two share one, the added wins over the shipped, and both over the shelf's.

    Shipped and added ones are in memory, those of the shelf are read when they are asked for.
    """

    def __init__(
        self, shipped: Iterable[Profile], added: Iterable[Profile] = (), shelf: Shelf | None = None
    ) -> None:
        profiles = {profile.key: profile for profile in (*shipped, *added)}
        self._profiles = dict(sorted(profiles.items(), key=lambda item: item[1].name.casefold()))
        self._words = {key: words_of(profile) for key, profile in self._profiles.items()}
        self._shelf = shelf

    @property
    def shelf(self) -> Shelf | None:
        """Where those by the thousand are, if there is such a thing."""
        return self._shelf

    @property
    def at_hand(self) -> Mapping[str, Profile]:
        """Those in memory."""
        return self._profiles

    def __getitem__(self, key: str) -> Profile:
        if key in self._profiles:
            return self._profiles[key]
        found = self._shelf.read(key) if self._shelf else None
        if found is None:
            raise KeyError(key)
        return found

    def __contains__(self, key: object) -> bool:
        if key in self._profiles:
            return True
        return self._shelf is not None and isinstance(key, str) and self._shelf.has(key)

    def __iter__(self) -> Iterator[str]:
        yield from self._profiles
        if self._shelf:
            yield from (key for key in self._shelf.all_keys() if key not in self._profiles)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def search(self, words: str = "", recent: Sequence[str] = (), most: int = SEARCH_MOST) -> list[Listed]:
        """Profiles in which every word of `words` occurs: best first, all of them for no words.

        Those of `recent`, keys, come before all others and in that order. Else a word that a name begins with
        counts most, then one inside a name, then one anywhere else. Of the shelf's only the `most` best.
        """
        wanted = words_in(words)[:WORDS_MOST]
        ranked = []
        for key, profile in self._profiles.items():
            names, rest = self._words[key]
            if all(word in names or word in rest for word in wanted):
                ranked.append((sum(_rank(word, names) for word in wanted), listed(profile)))
        if self._shelf:
            far = self._shelf.search(wanted, most, recent, tuple(self._profiles))
            ranked = sorted(
                [*ranked, *far],
                key=lambda pair: (pair[0], pair[1].name.casefold()),
            )
        lately = {key: place for place, key in enumerate(recent)}
        ranked.sort(key=lambda pair: (lately.get(pair[1].key, len(lately)), pair[0]))
        return [each for _, each in ranked]

    def called(self, name: str) -> str | None:
        """The key of the only profile whose key is that, or whose name, or short name; None without one."""
        wanted = bare(name)
        far = self._shelf.called(wanted) if self._shelf else iter([[], [], []])
        for field, on_shelf in zip(("key", "name", "short_name"), far, strict=True):
            here = [key for key, p in self._profiles.items() if bare(getattr(p, field)) == wanted]
            same = dict.fromkeys([*here, *on_shelf])
            if len(same) == 1:
                return next(iter(same))
        return None

    def with_added(self, profile: Profile) -> "Library":
        """A library that also holds `profile`; this one stays as it is."""
        return Library(self._profiles.values(), (profile,), self._shelf)


def _rank(word: str, names: str) -> int:
    return 0 if f" {word}" in names else 1 if word in names else 2


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
