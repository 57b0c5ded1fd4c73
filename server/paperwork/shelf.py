"""Profiles by the thousand: an index in one SQLite file, read when asked and thrown away at will."""

import json
import sqlite3
import threading
import zlib
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import astuple, replace
from pathlib import Path

from server.paperwork.listed import Listed, bare, listed, words_of
from server.paperwork.problems import Problem
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.rig.profile import Profile

__all__ = ["Shelf", "Stamp"]

VERSION = 1  # of the tables and of what is read from files: another one is filled anew
WHOLE_MOST = 32  # profiles kept whole in memory
TABLES = """
CREATE TABLE file (path TEXT PRIMARY KEY, changed INTEGER, size INTEGER, sha256 TEXT, key TEXT,
  problems TEXT);
CREATE TABLE listed (key TEXT PRIMARY KEY, name TEXT, short_name TEXT, maker TEXT, kind TEXT, modes TEXT,
  revised TEXT, sha256 TEXT, names TEXT, rest TEXT, bare_key TEXT, bare_name TEXT, bare_short TEXT);
CREATE TABLE whole (key TEXT PRIMARY KEY, body BLOB);
CREATE INDEX by_file ON file (sha256);
CREATE INDEX by_sha ON listed (sha256);
CREATE INDEX by_key ON listed (bare_key);
CREATE INDEX by_name ON listed (bare_name);
CREATE INDEX by_short ON listed (bare_short);
"""
COLUMNS = "key, name, short_name, maker, kind, modes, revised"

Stamp = tuple[int, int]  # of a file: when it was changed (ns), and its octets


class Shelf:
    """The profiles of the files in some folders. Any thread may ask; one process at a time fills it."""

    def __init__(self, path: Path) -> None:
        """Open or make it. A damaged file, or one of another version, is begun anew: it is only an index."""
        self.path = path
        self._lock = threading.Lock()
        self._whole: OrderedDict[str, Profile] = OrderedDict()
        try:
            self._file = _opened(path)
        except sqlite3.Error:
            for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
                path.with_name(name).unlink(missing_ok=True)
            self._file = _opened(path)

    def close(self) -> None:
        """Let go of the file."""
        with self._lock:
            self._file.close()

    def _rows(self, question: str, *given: object) -> list[tuple[object, ...]]:
        with self._lock, closing(self._file.execute(question, given)) as found:
            return found.fetchall()

    def __len__(self) -> int:
        return int(str(self._rows("SELECT count(*) FROM listed")[0][0]))

    def all_keys(self) -> Iterator[str]:
        """All keys, by name."""
        return (str(key) for (key,) in self._rows("SELECT key FROM listed ORDER BY lower(name), key"))

    def has(self, key: str) -> bool:
        """Whether there is one of that key."""
        return bool(self._rows("SELECT 1 FROM listed WHERE key = ?", key))

    def read(self, key: str) -> Profile | None:
        """The profile whole. A damaged row is as good as none."""
        if key in self._whole:
            return self._whole[key]
        rows = self._rows("SELECT body FROM whole WHERE key = ?", key)
        try:
            profile = profile_from_json(zlib.decompress(rows[0][0])) if rows else None  # type: ignore[arg-type]
        except (ValueError, zlib.error):
            return None
        if profile is not None:
            with self._lock:
                self._whole[key] = profile
                while len(self._whole) > WHOLE_MOST:
                    self._whole.popitem(last=False)
        return profile

    def search(
        self, words: Sequence[str], most: int, first: Sequence[str] = (), without: Sequence[str] = ()
    ) -> list[tuple[int, Listed]]:
        """The `most` best in which every word occurs, with their rank: 0 for each name that begins so.

        Those of `first`, keys, are in before any others; those of `without` are not.
        """
        rank = " + ".join(
            ["CASE WHEN instr(names, ?) THEN 0 WHEN instr(names, ?) THEN 1 ELSE 2 END"] * len(words)
        )
        fits = "".join(["(instr(names, ?) OR instr(rest, ?)) AND "] * len(words))
        given = [text for word in words for text in (f" {word}", word)] + [w for w in words for _ in "12"]
        some, others = (", ".join("?" * len(keys)) for keys in (first, without))
        question = (
            f"SELECT {rank or '0'} AS place, {COLUMNS} FROM listed "  # noqa: S608 - only our own words
            f"WHERE {fits} key NOT IN ({others}) ORDER BY key NOT IN ({some}), place, names LIMIT ?"
        )
        rows = self._rows(question, *given, *without, *first, most)
        return [(int(str(row[0])), _listed(row[1:])) for row in rows]

    def called(self, name: str) -> Iterator[list[str]]:
        """Keys of those whose key, then name, then short name is this, letters and digits only."""
        for column in ("bare_key", "bare_name", "bare_short"):
            question = f"SELECT key FROM listed WHERE {column} = ? LIMIT 2"  # noqa: S608 - one of three
            yield [str(key) for (key,) in self._rows(question, name)]

    def known(self) -> dict[str, Stamp]:
        """Every file that was read, as it was then."""
        rows = self._rows("SELECT path, changed, size FROM file")
        return {str(path): (int(str(changed)), int(str(size))) for path, changed, size in rows}

    def problems(self, most: int) -> list[Problem]:
        """What is wrong with files that gave no profile, by file."""
        rows = self._rows("SELECT path, problems FROM file WHERE key IS NULL ORDER BY path LIMIT ?", most)
        found = ((Path(str(path)).name, json.loads(str(problems))) for path, problems in rows)
        return [Problem(name, str(Problem(*each[0]))) for name, each in found if each]

    def source(self, sha256: str) -> Path | None:
        """A file with those contents, as far as it was there when it was read."""
        rows = self._rows("SELECT path FROM file WHERE sha256 = ? LIMIT 1", sha256)
        return Path(str(rows[0][0])) if rows else None

    def begin(self, path: str, stamp: Stamp) -> None:
        """Write down that this file is being read: if that ends the reader, it is not tried again."""
        said = json.dumps([["", "could not be read: it takes too long, or more memory than it may have"]])
        with self._lock, self._file:
            self._file.execute("REPLACE INTO file VALUES (?, ?, ?, '', NULL, ?)", (path, *stamp, said))

    def keep(
        self, path: str, sha256: str, profile: Profile | None, problems: Iterable[Problem]
    ) -> str | None:
        """Write down what was in it; returns the key under which the profile is found.

        Files of the same contents are one profile; another profile of the same key gets a key of its own.
        """
        said = json.dumps([[p.where, p.why] for p in problems])
        key = None if profile is None else self._key(profile.key, sha256)
        with self._lock, self._file:
            self._file.execute(
                "UPDATE file SET sha256 = ?, key = ?, problems = ? WHERE path = ?", (sha256, key, said, path)
            )
            if profile is not None and key is not None:
                self._put(replace(profile, key=key), sha256)
        return key

    def _key(self, key: str, sha256: str) -> str:
        there = self._rows("SELECT key FROM listed WHERE sha256 = ?", sha256)
        if there:
            return str(there[0][0])
        return f"{key[:70]}-{sha256[:8]}" if self.has(key) else key

    def _put(self, profile: Profile, sha256: str) -> None:
        short = listed(profile)
        row = [*astuple(short)[:5], json.dumps(short.modes), short.revised, sha256, *words_of(profile)]
        row += [bare(profile.key), bare(profile.name), bare(profile.short_name)]
        self._file.execute("REPLACE INTO listed VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
        body = zlib.compress(json.dumps(profile_to_json(profile)).encode(), 1)
        self._file.execute("REPLACE INTO whole VALUES (?, ?)", (profile.key, body))
        self._whole.pop(profile.key, None)

    def forget(self, paths: Iterable[str]) -> None:
        """Files that are gone or have changed, and what came from no other."""
        with self._lock, self._file:
            self._file.executemany("DELETE FROM file WHERE path = ?", ((path,) for path in paths))
            self._sweep()
            self._whole.clear()

    def _sweep(self) -> None:
        self._file.execute("DELETE FROM listed WHERE sha256 NOT IN (SELECT sha256 FROM file)")
        self._file.execute("DELETE FROM whole WHERE key NOT IN (SELECT key FROM listed)")


def _opened(path: Path) -> sqlite3.Connection:
    file = sqlite3.connect(path, check_same_thread=False, timeout=30)
    try:
        file.execute("PRAGMA journal_mode = WAL")
        file.execute("PRAGMA synchronous = OFF")  # what is lost is read again
        if file.execute("PRAGMA user_version").fetchone() != (VERSION,):
            for (name,) in file.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall():
                file.execute(f'DROP TABLE "{name}"')
            file.executescript(f"{TABLES} PRAGMA user_version = {VERSION}")
    except sqlite3.Error:
        file.close()
        raise
    return file


def _listed(row: Sequence[object]) -> Listed:
    key, name, short_name, maker, kind, modes, revised = map(str, row)
    return Listed(
        key, name, short_name, maker, kind, tuple((str(n), int(s)) for n, s in json.loads(modes)), revised
    )
