"""The library finds profiles by words and takes in those that people add."""

import json
from pathlib import Path

import pytest

from server.paperwork.library import Library, read_folder
from server.paperwork.problems import FileError
from server.paperwork.profiles import profile_from_json
from server.rig.profile import Profile
from tests.paperwork.test_profiles import control, file, mode

__all__: list[str] = []


def light(key: str, name: str, **also: str) -> Profile:
    return profile_from_json(file(mode(1, control("Dimmer", 1), name="8 bit"), key=key, name=name, **also))


def test_every_word_must_occur_and_a_name_that_begins_so_comes_first() -> None:
    library = Library([light("a", "Wash, profile lens"), light("b", "Profile"), light("c", "Fan")])
    assert [p.key for p in library.search("PROF")] == ["b", "a"]
    assert [p.key for p in library.search("wash prof")] == ["a"]
    assert [p.key for p in library.search("rof")] == ["b", "a"]
    assert [p.key for p in library.search("8 bit fan")] == ["c"]
    assert [p.key for p in library.search()] == ["c", "b", "a"]
    assert [p.key for p in library.search("1 slot")] == ["c", "b", "a"]
    assert library.search("2 slots") == library.search("11-slot") == []
    assert library.search("nothing like it") == []


def test_an_added_profile_takes_the_place_of_a_shipped_one_of_its_key() -> None:
    shipped = Library([light("a", "Shipped"), light("b", "Other")])
    library = shipped.with_added(light("a", "Added"))
    assert (library["a"].name, shipped["a"].name, len(library)) == ("Added", "Shipped", 2)
    assert list(library) == ["a", "b"]


def test_a_folder_is_read_without_its_schema(tmp_path: Path) -> None:
    (tmp_path / "schema.json").write_text("{}")
    (tmp_path / "one.json").write_text(json.dumps(file(mode(1, control("Dimmer", 1)))))
    assert [p.key for p in read_folder(tmp_path)] == ["a"]


def test_a_broken_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "one.json").write_text("{}")
    with pytest.raises(FileError, match=r"one\.json, key: is missing"):
        read_folder(tmp_path)
