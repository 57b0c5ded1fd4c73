"""Folders of profile files are read in another process and followed as they change."""

import asyncio
import json
import sqlite3
from pathlib import Path

import pytest

from server.paperwork.shelf import Shelf
from server.paperwork.stock import Stock
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode
from tests.paperwork.test_profiles import control, file
from tests.paperwork.test_profiles import mode as mode_file

__all__: list[str] = []


def named(name: str) -> bytes:
    return gdtf(fixture(mode(channel("Dimmer", 1)), Name=name, LongName=name))


def test_folders_are_followed_as_they_change(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    (one / "inside").mkdir(parents=True)
    (one / "a.gdtf").write_bytes(named("Alpha"))
    (one / "inside" / "B.GDTF").write_bytes(named("Beta"))
    (one / "wrong.gdtf").write_bytes(b"PK no archive")
    (one / "notes.txt").write_bytes(b"not for us")
    stock = Stock(Shelf(tmp_path / "l.sqlite"), [one, two])

    def names() -> list[str]:
        return sorted(each.name for _, each in stock.shelf.search([], 99))

    asyncio.run(stock.take())
    assert (names(), stock.left) == (["Alpha", "Beta"], 0)
    assert [p.where for p in stock.shelf.problems(9)] == ["wrong.gdtf"]
    assert not stock._moved()

    two.mkdir()
    (two / "c.json").write_text(json.dumps(file(mode_file(1, control("Dimmer", 1)), name="Gamma")))
    (one / "a.gdtf").write_bytes(named("Alpha, revised"))
    (one / "inside" / "B.GDTF").unlink()
    (one / "wrong.gdtf").unlink()
    assert stock._moved()
    asyncio.run(stock.take())
    assert names() == ["Alpha, revised", "Gamma"]
    assert stock.shelf.problems(9) == []
    stock.shelf.close()


def test_trouble_with_the_index_is_waited_out(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.gdtf").write_bytes(named("Alpha"))
    stock = Stock(Shelf(tmp_path / "l.sqlite"), [tmp_path / "in"])
    stock.shelf.close()  # every question to it is an error from now on

    with pytest.raises(sqlite3.ProgrammingError):
        asyncio.run(stock.take())
    with pytest.raises(TimeoutError):  # it goes on looking
        asyncio.run(asyncio.wait_for(stock.run(), 1))


def test_a_file_that_ends_the_reader_is_left_and_the_others_are_read(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    for name in ("a", "c"):
        (tmp_path / "in" / f"{name}.gdtf").write_bytes(named(name))
    (tmp_path / "in" / "b.gdtf").write_bytes(named("b"))
    shelf = Shelf(tmp_path / "l.sqlite")
    stamp = (tmp_path / "in" / "b.gdtf").stat()
    shelf.begin(str(tmp_path / "in" / "b.gdtf"), (stamp.st_mtime_ns, stamp.st_size))
    asyncio.run(Stock(shelf, [tmp_path / "in"]).take())
    assert sorted(each.name for _, each in shelf.search([], 9)) == ["a", "c"]
    assert [p.where for p in shelf.problems(9)] == ["b.gdtf"]
    shelf.close()
