"""What earlier versions wrote still reads: a day's events and a snapshot, as text, never to be changed."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

from server.journal import show_file
from server.journal.show_file import OURS, VERSION, ShowFileError, open_show
from server.journal.store import Journal, read_state
from server.journal.words import event_from_text, state_from_text
from server.rig import patch, profile
from server.stage import state
from server.stage.apply import apply
from server.stage.events import EVENTS, Event
from server.stage.state import State

__all__: list[str] = []

# Written by the program as it was with version 1 of the file: an event of every kind, with every field there
# was, and the state after the first so many. A field added since has to have a default, or these fail.
HEAD, *DAY = (Path(__file__).parent / "written_by_1.txt").read_text(encoding="utf-8").splitlines()
_, UP_TO, SNAPSHOT = HEAD.split(" ", 2)
EVENTS_THEN = [line.partition(" ")[::2] for line in DAY]
# The tables of that version, as they were.
TABLES_1 = """
CREATE TABLE event (seq INTEGER PRIMARY KEY, at REAL NOT NULL, person TEXT NOT NULL, kind TEXT NOT NULL, body BLOB NOT NULL);
CREATE TABLE snapshot (only INTEGER PRIMARY KEY CHECK (only = 1), seq INTEGER NOT NULL, body BLOB NOT NULL);
CREATE TABLE synced (only INTEGER PRIMARY KEY CHECK (only = 1), at REAL NOT NULL);
PRAGMA user_version = 1;
"""  # noqa: E501


def show_of_version_1(path: Path) -> Path:
    with closing(sqlite3.connect(path)) as file:
        file.executescript(TABLES_1)
        file.execute("INSERT INTO snapshot VALUES (1, ?, ?)", (int(UP_TO), SNAPSHOT.encode()))
        rows = [(kind, body.encode()) for kind, body in EVENTS_THEN]
        file.executemany("INSERT INTO event (at, person, kind, body) VALUES (0, '', ?, ?)", rows)
        file.commit()
    return path


def _events() -> Iterator[Event]:
    return (event_from_text(kind, body.encode()) for kind, body in EVENTS_THEN)


def _state() -> State:
    known = State()
    for event in _events():
        apply(known, event)
    return known


def _of_then(known: State) -> dict[str, object]:
    """What of the state there was in version 1."""
    return {name: getattr(known, name) for name in json.loads(SNAPSHOT)}


def _kinds_within(thing: object) -> Iterator[type]:
    if is_dataclass(thing) and not isinstance(thing, type):
        yield type(thing)
        for each in fields(thing):
            yield from _kinds_within(getattr(thing, each.name))
    elif isinstance(thing, dict):
        yield from (kind for each in thing.values() for kind in _kinds_within(each))
    elif isinstance(thing, tuple | list):
        yield from (kind for each in thing for kind in _kinds_within(each))


def test_the_text_holds_one_of_every_kind_there_was() -> None:
    held = {kind for event in _events() for kind in _kinds_within(event)}
    held |= set(_kinds_within(state_from_text(SNAPSHOT.encode())))
    there: set[type] = {profile.Guard, profile.Action, profile.Range, profile.ModeMaster, profile.Function}
    there |= {profile.Control, profile.Mode, profile.WheelSlot, profile.Emitter, profile.Profile}
    there |= {patch.Fixture, state.Person, state.Look, state.SlotLevel, state.Hands, state.Fault}
    there |= {state.Show, state.Settings, state.State}
    assert not there - held
    assert {kind for kind, _ in EVENTS_THEN} <= EVENTS.keys()
    assert len({kind for kind, _ in EVENTS_THEN}) == 23


def test_every_event_reads_with_all_that_was_in_it() -> None:
    for (kind, body), event in zip(EVENTS_THEN, _events(), strict=True):
        assert type(event).__name__ == kind
        told = json.loads(body)
        assert event.person == told["person"]
        assert set(told) <= {each.name for each in fields(event)}


def test_the_snapshot_is_the_state_that_its_events_lead_to() -> None:
    then = state_from_text(SNAPSHOT.encode())
    known = State()
    for event in list(_events())[: int(UP_TO)]:
        apply(known, event)
    assert _of_then(then) == _of_then(known)
    assert then.hand["spot1"] == {"Dimmer": 40000}
    assert then.fixtures["spot1"].inverted == ("Gobo1",)


def test_a_show_of_version_1_is_brought_up_and_reads(tmp_path: Path) -> None:
    path = show_of_version_1(tmp_path / "show.sqlite")
    with closing(open_show(path)) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (VERSION,)
        assert file.execute("PRAGMA application_id").fetchone() == (OURS,)
        assert file.execute("SELECT count(*) FROM event").fetchone() == (len(DAY),)
        read, later = read_state(file)
        assert (_of_then(read), later) == (_of_then(_state()), len(DAY) - int(UP_TO))
    journal = Journal(path)
    assert journal.read() == read
    journal.close(read)


@pytest.mark.parametrize(
    "broken", ["CREATE TABLE event (seq);", "INSERT INTO nowhere VALUES (1);", "no SQL;"]
)
def test_a_migration_that_fails_half_way_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str
) -> None:
    path = show_of_version_1(tmp_path / "show.sqlite")
    monkeypatch.setattr(show_file, "VERSION", 4)
    steps = "CREATE TABLE note (id); UPDATE event SET person = 'x'; DELETE FROM snapshot;"
    monkeypatch.setattr(
        show_file, "MIGRATIONS", {**show_file.MIGRATIONS, 2: steps, 3: f"DROP TABLE note; {broken}"}
    )
    with pytest.raises(ShowFileError, match="cannot be used as a show"):
        open_show(path)
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("PRAGMA user_version").fetchone() == (1,)
        assert file.execute("PRAGMA application_id").fetchone() == (0,)
        assert file.execute("SELECT DISTINCT person FROM event").fetchall() == [("",)]
    monkeypatch.undo()
    with closing(open_show(path)) as file:
        assert _of_then(read_state(file)[0]) == _of_then(_state())


def test_every_version_has_a_way_up_and_all_lead_to_the_same_tables(tmp_path: Path) -> None:
    assert sorted(show_file.MIGRATIONS) == list(range(VERSION))
    schema = "SELECT type, name, sql FROM sqlite_schema ORDER BY name"
    with (
        closing(open_show(tmp_path / "new")) as new,
        closing(open_show(show_of_version_1(tmp_path / "old"))) as old,
    ):
        assert new.execute(schema).fetchall() == old.execute(schema).fetchall()
