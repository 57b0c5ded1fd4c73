"""The show's SQLite file: opened, brought up to date, copied."""

import sqlite3
from datetime import datetime
from pathlib import Path

__all__ = ["VERSION", "ShowFileError", "backup", "open_show"]

VERSION = 1
KEPT_BACKUPS = 10

TABLES = """
CREATE TABLE event (seq INTEGER PRIMARY KEY, at REAL NOT NULL, person TEXT NOT NULL, kind TEXT NOT NULL, body BLOB NOT NULL);
CREATE TABLE snapshot (only INTEGER PRIMARY KEY CHECK (only = 1), seq INTEGER NOT NULL, body BLOB NOT NULL);
CREATE TABLE synced (only INTEGER PRIMARY KEY CHECK (only = 1), at REAL NOT NULL);
"""  # noqa: E501

MIGRATIONS: dict[int, str] = {0: TABLES}


class ShowFileError(Exception):
    """The show's file cannot be used as it is; the sentence says what to do."""


def open_show(path: Path) -> sqlite3.Connection:
    """Open or make the file and bring it to VERSION; to be used by one thread at a time.

    Raises ShowFileError: newer than this program (left untouched), not a show, or not writable.
    """
    try:
        made = sqlite3.connect(path, check_same_thread=False)
        version = made.execute("PRAGMA user_version").fetchone()[0]
        if version > VERSION:
            made.close()
            raise ShowFileError(
                f"{path} was written by a newer focuscall. Update the program; nothing was changed."
            )
        made.execute("PRAGMA journal_mode = WAL")
        while version < VERSION:
            made.executescript(f"BEGIN; {MIGRATIONS[version]} PRAGMA user_version = {version + 1}; COMMIT;")
            version += 1
    except sqlite3.DatabaseError as wrong:
        raise ShowFileError(
            f"{path} cannot be used as a show ({wrong}). Move it away, or choose another folder with --data."
        ) from wrong
    return made


def backup(path: Path, now: datetime) -> None:
    """Copy the show beside itself, and keep the last ten copies. Does nothing when there is no show yet."""
    if not path.exists():
        return
    folder = path.parent / "backups"
    folder.mkdir(exist_ok=True)
    source = sqlite3.connect(path)
    target = sqlite3.connect(folder / f"{path.stem}-{now:%Y%m%d-%H%M%S}.sqlite")
    try:
        source.backup(target)
    finally:
        source.close()
        target.close()
    for old in sorted(folder.glob("*.sqlite"))[:-KEPT_BACKUPS]:
        old.unlink()
