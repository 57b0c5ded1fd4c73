"""The show's SQLite file: opened, brought up to date, copied."""

import contextlib
import logging
import sqlite3
from datetime import datetime
from pathlib import Path

from server.journal import photos, record

__all__ = [
    "MIGRATIONS",
    "OURS",
    "VERSION",
    "ShowFileError",
    "backup",
    "copy_aside",
    "open_show",
    "reading",
    "tables_of",
]

VERSION = 4
KEPT_BACKUPS = 10
OURS = 0x66636C6C  # application_id of a show from version 2 on, by which other databases are told apart

TABLES = """
CREATE TABLE event (seq INTEGER PRIMARY KEY, at REAL NOT NULL, person TEXT NOT NULL, kind TEXT NOT NULL, body BLOB NOT NULL);
CREATE TABLE snapshot (only INTEGER PRIMARY KEY CHECK (only = 1), seq INTEGER NOT NULL, body BLOB NOT NULL);
CREATE TABLE synced (only INTEGER PRIMARY KEY CHECK (only = 1), at REAL NOT NULL);
"""  # noqa: E501

# By the version that each starts from. What has been released is never changed, only added to.
MIGRATIONS: dict[int, str] = {
    0: TABLES,
    1: f"PRAGMA application_id = {OURS};",
    2: record.TABLE,
    3: photos.TABLE,
}


log = logging.getLogger(__name__)


class ShowFileError(Exception):
    """The show's file cannot be used as it is; the sentence says what to do."""


def open_show(path: Path) -> sqlite3.Connection:
    """Open or make the file and bring it to VERSION; to be used by one thread at a time.

    Raises ShowFileError: newer than this program (left untouched), not a show, or not writable.
    """
    try:
        version = _version(path)
        made = sqlite3.connect(path, check_same_thread=False)
        try:
            _bring_up(made, version)
        except sqlite3.DatabaseError:
            made.close()  # which takes a migration back that is not through
            raise
    except sqlite3.DatabaseError as wrong:
        raise ShowFileError(
            f"{path} cannot be used as a show ({wrong}). Move it away, or choose another folder with --data."
        ) from wrong
    return made


def copy_aside(path: Path, now: datetime) -> None:
    """Copy the show beside itself, with all that is kept, and keep the last ten copies.

    Raises OSError or sqlite3.Error: the copy cannot be made; nothing is left of it.
    """
    folder = path.parent / "backups"
    folder.mkdir(exist_ok=True)
    fresh = folder / "unfinished"  # a start that is cut short leaves no copy that is none
    try:
        fresh.unlink(missing_ok=True)
        with reading(path) as source, contextlib.closing(sqlite3.connect(fresh)) as target:
            source.backup(target)
        copy = fresh.replace(_free_name(folder, f"{path.stem}-{now:%Y%m%d-%H%M%S}"))
    except (OSError, sqlite3.Error):
        with contextlib.suppress(OSError):
            fresh.unlink()
        raise
    # By their names, and the new one stays whatever the laptop's clock says.
    others = sorted((each for each in folder.glob("*.sqlite") if each != copy), key=lambda each: each.stem)
    for old in others[: -(KEPT_BACKUPS - 1)]:
        old.unlink()


def backup(path: Path, now: datetime) -> None:
    """`copy_aside` for a start: does nothing when there is no show yet.

    A copy that cannot be made keeps nobody from the light: it is left out, and the log says why.
    """
    if not path.exists():
        return
    try:
        copy_aside(path, now)
    except (OSError, sqlite3.Error) as wrong:
        log.warning("no backup of %s at this start: %s", path.name, wrong)


def reading(path: Path) -> contextlib.closing[sqlite3.Connection]:
    """The file to be read and never written, beside whoever writes it."""
    if path.with_name(f"{path.name}-journal").exists():
        # Only the first writes of a new file go there, before it has its log; who only reads cannot take back
        # one that was cut short.
        with contextlib.closing(sqlite3.connect(path)) as cut_short:
            cut_short.execute("SELECT 1 FROM sqlite_schema").fetchone()
    # Closing the last writer of a file folds its log into it, and that would be a change.
    return contextlib.closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True))


def _free_name(folder: Path, stem: str) -> Path:
    """That name, or the next that is free: two starts may fall into one second."""
    path, count = folder / f"{stem}.sqlite", 1
    while path.exists():
        count += 1
        path = folder / f"{stem}-{count}.sqlite"
    return path


def _bring_up(show: sqlite3.Connection, version: int) -> None:
    show.execute("PRAGMA journal_mode = WAL")
    if version < VERSION:
        # All of the way or nothing: half-way no program could read it, not even the one it came from.
        show.executescript(f"BEGIN IMMEDIATE; {_steps(version, VERSION)} COMMIT;")


def tables_of(version: int) -> sqlite3.Connection:
    """An empty show of that version, in memory."""
    made = sqlite3.connect(":memory:")
    made.executescript(_steps(0, version))
    return made


def _steps(first: int, last: int) -> str:
    return " ".join([*(MIGRATIONS[at] for at in range(first, last)), f"PRAGMA user_version = {last};"])


def _version(path: Path) -> int:
    """The file's version, 0 for none yet. Raises ShowFileError: newer, or another program's database."""
    if not path.exists():
        return 0
    with reading(path) as show:
        version, mark = (
            show.execute(f"PRAGMA {name}").fetchone()[0] for name in ("user_version", "application_id")
        )
        strange = version == 0 and show.execute("SELECT 1 FROM sqlite_schema").fetchone()
    if mark not in (0, OURS) or strange:
        raise ShowFileError(
            f"{path} is a database of another program. Move it away, or choose another folder with --data."
        )
    if version > VERSION:
        raise ShowFileError(
            f"{path} was written by a newer focuscall. Update the program; nothing was changed."
        )
    found: int = version
    return found
