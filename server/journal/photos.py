"""The photos of a show: a table of their own, beside the events that say what each is of."""

import sqlite3
from collections.abc import Iterable, Mapping

from server.journal.record import Write

__all__ = ["FORGET_ALL", "PUT", "TABLE", "forgotten", "kept", "kept_all", "read_photo", "read_photos"]

TABLE = "CREATE TABLE photo (id TEXT PRIMARY KEY, body BLOB NOT NULL);"
PUT = "INSERT OR REPLACE INTO photo (id, body) VALUES (?, ?)"
FORGET_ALL: Write = ("DELETE FROM photo", ())


def kept(photo: str, body: bytes) -> Write:
    """What writes a photo down, in one transaction with the event that says what it is of."""
    return PUT, (photo, body)


def kept_all(photos: Mapping[str, bytes]) -> list[Write]:
    """The same for those of a show that takes the place of another."""
    return [FORGET_ALL, *(kept(photo, body) for photo, body in photos.items())]


def forgotten(photo: str) -> Write:
    """What takes a photo out of the file."""
    return "DELETE FROM photo WHERE id = ?", (photo,)


def read_photo(file: sqlite3.Connection, photo: str) -> bytes | None:
    """Its octets; None: there is none of that name."""
    row = file.execute("SELECT body FROM photo WHERE id = ?", (photo,)).fetchone()
    return row[0] if row and isinstance(row[0], bytes) else None


def read_photos(file: sqlite3.Connection, photos: Iterable[str]) -> dict[str, bytes]:
    """The octets of those that are there."""
    read = ((photo, read_photo(file, photo)) for photo in photos)
    return {photo: body for photo, body in read if body is not None}
