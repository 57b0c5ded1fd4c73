"""The show's SQLite file: opened, brought up to date, copied."""

import contextlib
import logging
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


log = logging.getLogger(__name__)


class ShowFileError(Exception):
    """The show's file cannot be used as it is; the sentence says what to do."""


def open_show(path: Path) -> sqlite3.Connection:
    """Open or make the file and bring it to VERSION; to be used by one thread at a time.

    Raises ShowFileError: newer than this program (left untouched), not a show, or not writable.
    """
    try:
        version = _version(path)
        if version > VERSION:
            raise ShowFileError(
                f"{path} was written by a newer focuscall. Update the program; nothing was changed."
            )
        made = sqlite3.connect(path, check_same_thread=False)
        try:
            _bring_up(made, version)
        except sqlite3.DatabaseError:
            made.close()
            raise
    except sqlite3.DatabaseError as wrong:
        raise ShowFileError(
            f"{path} cannot be used as a show ({wrong}). Move it away, or choose another folder with --data."
        ) from wrong
    return made


def backup(path: Path, now: datetime) -> None:
    """Copy the show beside itself, and keep the last ten copies. Does nothing when there is no show yet.

    A copy that cannot be made keeps nobody from the light: it is left out, and the log says why.
    """
    if not path.exists():
        return
    folder = path.parent / "backups"
    copy = folder / f"{path.stem}-{now:%Y%m%d-%H%M%S}.sqlite"
    try:
        folder.mkdir(exist_ok=True)
        with _reading(path) as source, contextlib.closing(sqlite3.connect(copy)) as target:
            source.backup(target)
    except (OSError, sqlite3.Error) as wrong:
        log.warning("no backup of %s at this start: %s", path.name, wrong)
        with contextlib.suppress(OSError):
            copy.unlink()
        return
    for old in sorted(folder.glob("*.sqlite"))[:-KEPT_BACKUPS]:
        old.unlink()


def _bring_up(show: sqlite3.Connection, version: int) -> None:
    show.execute("PRAGMA journal_mode = WAL")
    for before in range(version, VERSION):
        show.executescript(f"BEGIN; {MIGRATIONS[before]} PRAGMA user_version = {before + 1}; COMMIT;")


def _version(path: Path) -> int:
    if not path.exists():
        return 0
    with _reading(path) as show:
        found: int = show.execute("PRAGMA user_version").fetchone()[0]
    return found


def _reading(path: Path) -> contextlib.closing[sqlite3.Connection]:
    # Read-only, because closing the last writer of a file folds its log into it, and that is a change.
    return contextlib.closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True))
