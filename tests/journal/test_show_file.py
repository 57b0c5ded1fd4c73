"""The show's file: made, refused untouched, copied."""

import shutil
import sqlite3
import sys
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from server.journal.record import Wanted, read_record
from server.journal.show_file import VERSION, ShowFileError, backup, open_show, tables_of

__all__: list[str] = []

NOON = datetime(2026, 3, 1, 12)


def _show(path: Path, kept: str = "") -> Path:
    with closing(open_show(path)) as show, show:
        show.execute("INSERT INTO event (at, person, kind, body) VALUES (0, ?, '', '')", (kept,))
    return path


def _kept(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as show:
        return [person for (person,) in show.execute("SELECT person FROM event")]


def test_a_new_file_has_the_version_of_this_program(tmp_path: Path) -> None:
    with closing(open_show(tmp_path / "show.sqlite")) as show:
        assert show.execute("PRAGMA user_version").fetchone() == (VERSION,)
        assert show.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_a_first_start_cut_short_in_its_first_write_is_begun_again(tmp_path: Path) -> None:
    making, path = tmp_path / "making.sqlite", tmp_path / "show.sqlite"
    with closing(sqlite3.connect(making, isolation_level=None)) as first:
        first.executescript("PRAGMA cache_size = 1; BEGIN; CREATE TABLE half (done)")
        first.executemany("INSERT INTO half VALUES (?)", [("x" * 4000,)] * 40)
        # As a killed process leaves it: written in part, and a journal that says how to take that back.
        shutil.copy(making, path)
        shutil.copy(f"{making}-journal", f"{path}-journal")
    assert path.stat().st_size
    backup(path, NOON)
    with closing(open_show(path)) as show:
        assert show.execute("PRAGMA user_version").fetchone() == (VERSION,)


def test_an_existing_file_keeps_what_is_in_it(tmp_path: Path) -> None:
    path = _show(tmp_path / "show.sqlite", "Mo")
    open_show(path).close()
    assert _kept(path) == ["Mo"]


def test_a_newer_file_is_refused_and_no_octet_of_it_changes(tmp_path: Path) -> None:
    path, ours = tmp_path / "ours" / "show.sqlite", tmp_path / "show.sqlite"
    path.parent.mkdir()
    with closing(open_show(path)) as show:
        show.execute(f"PRAGMA user_version = {VERSION + 1}")
        # As a crash leaves it: the last changes lie in the log beside it.
        for name in ("show.sqlite", "show.sqlite-wal"):
            shutil.copy(path.parent / name, tmp_path / name)
    files = [ours, tmp_path / "show.sqlite-wal"]
    before = [file.read_bytes() for file in files]
    assert len(before[1]) > 0
    backup(ours, NOON)
    with pytest.raises(ShowFileError, match="newer focuscall"):
        open_show(ours)
    assert [file.read_bytes() for file in files] == before


def test_a_file_that_is_no_show_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    path.write_bytes(b"Dear all, the get-in is at nine.\n" * 100)
    before = path.read_bytes()
    with pytest.raises(ShowFileError, match="choose another folder"):
        open_show(path)
    assert path.read_bytes() == before


def test_a_database_of_another_program_is_refused_untouched(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    for mark in ("CREATE TABLE stock (gel)", "PRAGMA application_id = 7"):
        path.unlink(missing_ok=True)
        with closing(sqlite3.connect(path)) as other:
            other.execute(mark)
            other.commit()
        before = path.read_bytes()
        with pytest.raises(ShowFileError, match="another program"):
            open_show(path)
        assert path.read_bytes() == before


def test_a_folder_in_its_place_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ShowFileError):
        open_show(tmp_path)


@pytest.mark.skipif(sys.platform != "linux", reason="a folder that nobody may write, not even root")
def test_a_folder_that_cannot_be_written_is_refused() -> None:
    with pytest.raises(ShowFileError, match="cannot be used as a show"):
        open_show(Path("/proc/show.sqlite"))


def test_a_backup_holds_all_of_the_show_also_what_is_still_in_its_log(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    with closing(open_show(path)) as show:
        with show:
            show.execute("INSERT INTO event (at, person, kind, body) VALUES (0, 'Mo', '', '')")
        backup(path, NOON)
    assert _kept(tmp_path / "backups" / "show-20260301-120000.sqlite") == ["Mo"]


def test_the_last_ten_backups_are_kept(tmp_path: Path) -> None:
    path = _show(tmp_path / "show.sqlite")
    for hour in range(12):
        backup(path, NOON + timedelta(hours=hour))
    names = [file.name for file in sorted((tmp_path / "backups").iterdir())]
    assert len(names) == 10
    assert names[0] == "show-20260301-140000.sqlite"
    assert names[-1] == "show-20260301-230000.sqlite"


def test_without_a_show_there_is_no_backup(tmp_path: Path) -> None:
    backup(tmp_path / "show.sqlite", NOON)
    assert list(tmp_path.iterdir()) == []


def test_two_starts_within_one_second_leave_two_backups(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    for name in ("Mo", "Kit", "Ada"):
        _show(path, name)
        backup(path, NOON)
    copies = sorted((tmp_path / "backups").iterdir(), key=lambda each: each.stem)
    assert [copy.stem[-8:] for copy in copies] == ["1-120000", "120000-2", "120000-3"]
    assert [_kept(copy) for copy in copies] == [["Mo"], ["Mo", "Kit"], ["Mo", "Kit", "Ada"]]


def test_with_a_clock_that_went_back_the_newest_copy_stays(tmp_path: Path) -> None:
    path = _show(tmp_path / "show.sqlite")
    for hour in range(12):
        backup(path, NOON + timedelta(hours=hour))
    _show(path, "after")
    backup(path, datetime(1970, 1, 1))
    assert _kept(tmp_path / "backups" / "show-19700101-000000.sqlite") == ["", "after"]
    assert len(list((tmp_path / "backups").iterdir())) == 10


@pytest.mark.parametrize("path", ["show.sqlite", "folder"])
def test_a_backup_that_cannot_be_made_is_logged_and_leaves_nothing(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, path: str
) -> None:
    if path == "folder":  # a file where the folder should be: nothing can be written there, not even by root
        (tmp_path / "backups").write_bytes(b"")
        _show(tmp_path / "show.sqlite")
    else:
        (tmp_path / "show.sqlite").write_bytes(b"no show at all")
    backup(tmp_path / "show.sqlite", NOON)
    assert path == "folder" or list((tmp_path / "backups").iterdir()) == []
    assert "no backup of show.sqlite" in caplog.text


def test_what_a_start_cut_short_left_of_a_backup_is_no_backup(tmp_path: Path) -> None:
    path = _show(tmp_path / "show.sqlite", "Mo")
    (tmp_path / "backups").mkdir()
    (tmp_path / "backups" / "unfinished").write_bytes(b"half a page")
    backup(path, NOON)
    assert [_kept(copy) for copy in (tmp_path / "backups").iterdir()] == [["Mo"]]


def test_a_show_of_version_2_gets_an_empty_record_and_keeps_what_is_in_it(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    with closing(sqlite3.connect(path)) as show, closing(tables_of(2)) as two, show:
        two.execute("INSERT INTO event (at, person, kind, body) VALUES (0, 'Mo', '', '')")
        two.commit()
        two.backup(show)
    with closing(open_show(path)) as show:
        assert show.execute("PRAGMA user_version").fetchone() == (VERSION,)
        assert read_record(show, Wanted(), 10) == []
    assert _kept(path) == ["Mo"]
