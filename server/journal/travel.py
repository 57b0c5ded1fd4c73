"""A whole show as one file: written to be carried to another laptop, and read from strangers."""

import sqlite3
import time
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import replace
from types import MappingProxyType

from server.journal.photos import PUT, read_photos
from server.journal.show_file import OURS, VERSION, ShowFileError, tables_of
from server.journal.store import read_state
from server.journal.words import state_to_text
from server.rig.said import Said
from server.stage.carried import Carried, put_in
from server.stage.state import Person, State

__all__ = ["SUFFIX", "pack", "unpack", "unpack_photos"]

SUFFIX = ".focuscall"
MAGIC = b"SQLite format 3\0"
FORMATS = slice(18, 20)  # octets that say how the file is written to: 2 with a log beside it, 1 without
BEFORE_PHOTOS = 3  # the last version of the file without a table of them
LONGEST_READ_S = 20.0  # of a show from a stranger; the largest of ours takes two or three

NO_PHOTOS: Mapping[str, bytes] = MappingProxyType({})

DAMAGED = Said("This show file is damaged or not whole. Copy it once more, or take another.")
NO_SHOW = Said(
    "This is not a show file. Choose one that was kept here before, or a copy from the folder backups."
)
NEWER = Said("This show was kept by a newer focuscall. Update the program on this laptop first.")
SLOW = Said("This show file takes too long to read. Choose another.")


def pack(brought: Carried, people: tuple[Person, ...], photos: Mapping[str, bytes] = NO_PHOTOS) -> bytes:
    """The file. Of the people it has names and roles, and nothing that lets anybody in.

    photos: the pictures by their names.
    """
    state = State(people={p.id: replace(p, token_hash="", phone="") for p in people})
    put_in(state, brought)
    with closing(tables_of(VERSION)) as file:
        file.execute("INSERT INTO snapshot VALUES (1, 0, ?)", (state_to_text(state),))
        file.executemany(PUT, photos.items())
        file.commit()
        return file.serialize()


def unpack(data: bytes) -> State:
    """The state that such a file, or a copy of a laptop's own show, holds. Nothing of it is checked yet.

    Opened in memory, never written, only our own tables are read, and only where they are as we make them: a
    view or a trigger would be a program of whoever made the file. Raises ShowFileError with a sentence.
    """
    with _opened(data) as (file, until):
        return read_state(file, until)[0]


def unpack_photos(data: bytes, state: State) -> dict[str, bytes]:
    """The pictures in a file whose state that is, as far as they are there. Raises ShowFileError."""
    with _opened(data) as (file, _):
        (version,) = file.execute("PRAGMA user_version").fetchone()
        return read_photos(file, state.photos) if version > BEFORE_PHOTOS else {}


@contextmanager
def _opened(data: bytes) -> Iterator[tuple[sqlite3.Connection, float]]:
    """The file to read from, until when (monotonic seconds). What goes wrong comes out as ShowFileError."""
    if not data.startswith(MAGIC):
        raise ShowFileError(NO_SHOW)
    until = time.monotonic() + LONGEST_READ_S
    with closing(sqlite3.connect(":memory:")) as file:
        try:
            file.deserialize(_without_log(data))
            file.set_progress_handler(lambda: time.monotonic() > until, 100_000)
            for safety in ("trusted_schema = OFF", "cell_size_check = ON", "query_only = ON"):
                file.execute(f"PRAGMA {safety}")
            _check_tables(file)
            yield file, until
        except (sqlite3.Error, ValueError, LookupError, TypeError, AttributeError, RecursionError) as wrong:
            raise ShowFileError(SLOW if time.monotonic() > until else DAMAGED) from wrong


def _without_log(data: bytes) -> bytes:
    # A copy of a running show says that it has a log; in memory there is none, and the copy is whole without.
    return data[: FORMATS.start] + b"\1\1" + data[FORMATS.stop :]


def _check_tables(file: sqlite3.Connection) -> None:
    version, mark = (file.execute(f"PRAGMA {n}").fetchone()[0] for n in ("user_version", "application_id"))
    if mark not in (0, OURS):
        raise ShowFileError(NO_SHOW)
    if version > VERSION:
        raise ShowFileError(NEWER)
    schema = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY name"
    with closing(tables_of(version)) as ours:
        if version < 1 or file.execute(schema).fetchall() != ours.execute(schema).fetchall():
            raise ShowFileError(NO_SHOW)
