"""A show as one file: what goes in comes out, nobody's way in travels, no stranger's file is a program."""

import sqlite3
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path

import pytest

from server.journal import travel
from server.journal.show_file import OURS, VERSION, ShowFileError, backup, open_show, tables_of
from server.journal.travel import pack, unpack
from server.journal.words import event_to_text
from server.stage.apply import apply
from server.stage.carried import carried
from server.stage.state import Person, State
from tests.journal.test_show_file import NOON
from tests.journal.test_store import Show
from tests.journal.test_words import DAY
from tests.journal.test_written_by_1 import show_of_version_1
from tests.shows import LEAD, show_events

__all__: list[str] = []


def _state() -> State:
    state = State()
    for event in DAY[: len(show_events()) + 10]:
        apply(state, event)
    return state


def _packed() -> bytes:
    return pack(carried(_state()), (LEAD,))


def _refused(data: bytes) -> str:
    with pytest.raises(ShowFileError) as wrong:
        unpack(data)
    sentence: str = wrong.value.args[0]
    assert sentence.endswith(".")
    return sentence


def test_what_is_packed_comes_out_as_it_was_and_nothing_is_in_hand() -> None:
    state = _state()
    assert state.holders
    assert state.slots
    read = unpack(pack(carried(state), tuple(state.people.values())))
    assert carried(read) == carried(state)
    assert set(read.people) == set(state.people)
    assert (read.holders, read.hand, read.slots, read.hands_on, read.master) == ({}, {}, {}, {}, 1.0)


def test_nobody_s_way_in_travels() -> None:
    hashes = ("5e884898da28047151d0e56f8dc62927", "e3b0c44298fc1c149afbf4c8996fb924")
    people = tuple(Person(f"p{n}", f"P{n}", "lead", token) for n, token in enumerate(hashes))
    state = _state()
    state.pins = {"lead": "8d969eef6ecad3c29a3a629280e686cf"}
    data = pack(carried(state), people)
    assert b"8d969eef" not in data
    assert not [token for token in hashes if token.encode() in data]
    assert {person.token_hash for person in unpack(data).people.values()} == {""}


def test_the_file_is_a_show_that_opens_in_a_data_folder(tmp_path: Path) -> None:
    (tmp_path / "show.sqlite").write_bytes(_packed())
    with closing(Show(tmp_path / "show.sqlite")) as show:
        assert carried(show.state) == carried(_state())


def test_a_copy_from_the_folder_backups_reads_with_what_came_after_its_snapshot(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    with closing(open_show(path)) as file:
        rows = [event_to_text(event) for event in show_events()]
        file.executemany("INSERT INTO event (at, person, kind, body) VALUES (0, '', ?, ?)", rows)
        file.commit()
        backup(path, NOON)
    (copy,) = (tmp_path / "backups").iterdir()
    assert set(unpack(copy.read_bytes()).fixtures) == {"dim1", "dim2", "work", "hazer", "mover"}
    assert "spot1" in unpack(show_of_version_1(tmp_path / "old.sqlite").read_bytes()).fixtures


def _with(change: str) -> bytes:
    with closing(sqlite3.connect(":memory:")) as file:
        file.deserialize(_packed())
        file.executescript(change)
        return file.serialize()


RUNS_FOR_EVER = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT 1, 0, max(i) FROM n"
STRANGE = {
    "no database": b"Dear all, the get-in is at nine.\n" * 100,
    "another program's": _with("PRAGMA application_id = 7"),
    "not marked and empty": _with("PRAGMA application_id = 0; PRAGMA user_version = 0"),
    "a view in a table's place": _with(f"DROP TABLE snapshot; CREATE VIEW snapshot AS {RUNS_FOR_EVER}"),
    "a trigger": _with("CREATE TRIGGER t AFTER INSERT ON event BEGIN DELETE FROM snapshot; END"),
    "an index on an expression": _with("CREATE INDEX i ON event (hex(body))"),
    "one table more": _with("CREATE TABLE more (x)"),
    "a column that computes": _with(
        "DROP TABLE snapshot; CREATE TABLE snapshot (only, seq, body AS (zeroblob(1000000000)))"
    ),
    "a table that reaches out": _with("DROP TABLE synced; CREATE VIRTUAL TABLE synced USING fts4(x)"),
}
DAMAGED = {
    "cut off": _packed()[:9000],
    "only its first page": _packed()[:4096],
    "only its first words": _packed()[:16],
    "a state that is none": _with("UPDATE snapshot SET body = '{'"),
    "a state of another shape": _with("""UPDATE snapshot SET body = '{"fixtures": {"a": 1}}'"""),
    "a state that goes too deep": _with("UPDATE snapshot SET body = replace(hex(zeroblob(50000)), '0', '[')"),
    "a state that is a number": _with("UPDATE snapshot SET body = 7"),
    "an event nobody knows": _with("INSERT INTO event VALUES (1, 0, '', 'Exploded', '{}')"),
    "an event that leads nowhere": _with(
        """INSERT INTO event VALUES (1, 0, '', 'LookRecalled', '{"person":"","look":"x","fade_s":0}')"""
    ),
}


@pytest.mark.parametrize("what", STRANGE)
def test_what_is_no_show_is_refused_in_one_sentence_and_at_once(what: str) -> None:
    began = time.monotonic()
    assert _refused(STRANGE[what]) == travel.NO_SHOW
    assert time.monotonic() - began < 5


@pytest.mark.parametrize("what", DAMAGED)
def test_what_is_damaged_is_refused_in_one_sentence(what: str) -> None:
    assert _refused(DAMAGED[what]) == travel.DAMAGED


def test_a_newer_show_is_refused_with_what_to_do() -> None:
    assert "Update the program" in _refused(_with(f"PRAGMA user_version = {VERSION + 1}"))


@pytest.mark.parametrize("change", [lambda data: b"", lambda data: b"\0" * 5000, lambda data: data[::-1]])
def test_octets_of_any_kind_are_refused(change: Callable[[bytes], bytes]) -> None:
    _refused(change(_packed()))


def test_any_octet_changed_gives_a_show_or_a_sentence() -> None:
    data = _packed()
    for at in range(16, len(data), max(1, len(data) // 400)):
        changed = bytearray(data)
        changed[at] ^= 0x5A
        with suppress(ShowFileError):  # whatever else is raised fails here
            unpack(bytes(changed))


def test_what_takes_too_long_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(travel, "LONGEST_READ_S", -1.0)
    many = _with("INSERT INTO event VALUES (1, 0, '', 'BlackoutSet', '{\"person\":\"\",\"on\":true}')")
    assert _refused(many) == travel.SLOW


def test_a_file_of_ours_is_marked_as_ours() -> None:
    with closing(tables_of(VERSION)) as file:
        assert file.execute("PRAGMA application_id").fetchone() == (OURS,)
