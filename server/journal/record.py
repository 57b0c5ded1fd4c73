"""The record of the day: who did what, when, with which unit, from which phone."""

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from typing import TypeAlias

from server.rig.patch import Fixture
from server.rig.said import Said, Words
from server.stage import events
from server.stage.events import Event
from server.stage.state import State, Who
from server.stage.subject import fixtures_in

__all__ = ["BOUND", "MOST_ROWS", "TABLE", "Entry", "Wanted", "Write", "entries", "read_record", "writes"]

MOST_ROWS = 100_000  # some 30 MB; months of a busy house
TABLE = """
CREATE TABLE record (seq INTEGER PRIMARY KEY, number INTEGER NOT NULL, at REAL NOT NULL, person TEXT NOT NULL,
  name TEXT NOT NULL, role TEXT NOT NULL, phone TEXT NOT NULL, fixture TEXT NOT NULL, channel INTEGER,
  position TEXT NOT NULL, unit TEXT NOT NULL, house INTEGER NOT NULL, what TEXT NOT NULL, said TEXT NOT NULL,
  UNIQUE (number, fixture));
"""
BOUND = f"DELETE FROM record WHERE seq <= (SELECT max(seq) FROM record) - {MOST_ROWS}"  # noqa: S608

Write: TypeAlias = tuple[str, tuple[object, ...]]  # a statement and what it is filled with


@dataclass(frozen=True, slots=True)
class Entry:
    """One row: a change, for each fixture that it is about.

    number: of the change. at: wall-clock seconds. name, role, phone, channel, position, unit: as they were
    then. fixture: its id, "" for what is about none. said: the parts of `what`.
    """

    number: int
    at: float
    person: str
    name: str
    role: str
    phone: str
    fixture: str
    channel: int | None
    position: str
    unit: str
    house: bool
    what: str
    said: Words


NAMES = tuple(each.name for each in fields(Entry))
INSERT = f"INSERT OR REPLACE INTO record ({', '.join(NAMES)}) VALUES ({', '.join('?' * len(NAMES))})"  # noqa: S608
REWORD = "UPDATE record SET what = ?, said = ? WHERE number = ?"


def entries(state: State, event: events.Changed | events.PutBack) -> list[Entry]:
    """The rows of one change. state: as it left it."""
    about = event.about if isinstance(event, events.Changed) else _about(state, event)
    gone = event.before.fixtures if event.before else {}
    units = [(f, state.fixtures.get(f) or gone.get(f)) for f in fixtures_in(about)]
    return [_entry(event.person, event.by, event, f, unit) for f, unit in units or [("", None)]]


def _about(state: State, event: events.PutBack) -> tuple[str, ...]:
    change = state.changes.get(event.change)
    return change.about if change else ()


def _entry(
    person: str, by: Who, event: events.Changed | events.PutBack, fixture: str, unit: Fixture | None
) -> Entry:
    return Entry(
        number=event.number,
        at=event.at,
        person=person,
        name=by.name,
        role=by.role,
        phone=by.phone,
        fixture=fixture,
        channel=unit.channel if unit else None,
        position=unit.position if unit else "",
        unit=unit.unit if unit else "",
        house=unit.house if unit else False,
        what=str(Said.of(event.what)),
        said=event.what,
    )


def writes(state: State, happened: Iterable[Event]) -> list[Write]:
    """What to write into the record of what happened, in this order. state: as it left it."""
    found: list[Write] = []
    for event in happened:
        match event:
            case events.Changed() | events.PutBack():
                found += [(INSERT, _filled(entry)) for entry in entries(state, event)]
            case events.ChangeEnded():
                what = str(Said.of(event.what))
                found.append((REWORD, (what, json.dumps(event.what), event.number)))
    return found


def _filled(entry: Entry) -> tuple[object, ...]:
    return *(getattr(entry, name) for name in NAMES[:-1]), json.dumps(entry.said)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for: every word of q, that person (id or name), that fixture (id), between two times.

    house: only what is about house fixtures.
    """

    q: str = ""
    person: str = ""
    fixture: str = ""
    since: float | None = None
    before: float | None = None
    house: bool = False


def read_record(file: sqlite3.Connection, wanted: Wanted, limit: int) -> list[Entry]:
    """The newest rows that fit, newest first. Capital letters of a to z are as small ones."""
    where, filled = _where(wanted)
    query = f"SELECT {', '.join(NAMES)} FROM record WHERE {where} ORDER BY seq DESC LIMIT ?"  # noqa: S608
    rows = (dict(zip(NAMES, row, strict=True)) for row in file.execute(query, (*filled, limit)))
    return [Entry(**row | {"house": bool(row["house"]), "said": json.loads(row["said"])}) for row in rows]


def _where(wanted: Wanted) -> tuple[str, Sequence[object]]:
    parts, filled = ["1"], list[object]()
    for word in wanted.q.split():
        plain = word.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
        texts = "name || ' ' || phone || ' ' || coalesce(channel, '') || ' ' || position || ' ' || unit"
        parts.append(f"{texts} || ' ' || what LIKE ? ESCAPE '\\'")
        filled.append(f"%{plain}%")
    for part, value in (
        ("? IN (person, name)", wanted.person),
        ("fixture = ?", wanted.fixture),
        ("at >= ?", wanted.since),
        ("at < ?", wanted.before),
    ):
        if value not in ("", None):
            parts.append(part)
            filled.append(value)
    if wanted.house:
        parts.append("house")
    return " AND ".join(parts), filled
