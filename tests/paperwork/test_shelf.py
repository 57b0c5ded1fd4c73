"""The shelf finds profiles by the thousand, keeps those of the same key apart, and can be thrown away."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from server.paperwork.library import Library
from server.paperwork.shelf import WHOLE_MOST, Shelf
from server.rig.profile import Profile
from tests.paperwork.test_library import light

__all__: list[str] = []


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "library.sqlite")


def put(shelf: Shelf, profile: Profile | None, path: str, sha256: str = "") -> str | None:
    shelf.begin(path, (1, 1))
    return shelf.keep(path, sha256 or path, profile, [])


def test_a_profile_is_found_by_maker_name_mode_and_slots(shelf: Shelf) -> None:
    put(shelf, light("a", "Wash, profile lens", maker="Nobody Ltd"), "1")
    put(shelf, light("b", "Profile"), "2")
    library = Library((), (), shelf)
    for words in ("nobody", "WASH", "8 bit wash", "1-slot lens", "nobody 8 bit"):
        assert [p.key for p in library.search(words)][:1] == ["a"], words
    assert [p.key for p in library.search("prof")] == ["b", "a"]
    assert library.search("prof'; DROP TABLE listed --") == []
    assert library.search("a%b_") == []
    (found, _) = library.search()
    assert (found.name, found.modes) == ("Profile", (("8 bit", 1),))
    assert library["a"] == light("a", "Wash, profile lens", maker="Nobody Ltd")
    assert (set(library), len(library), "a" in library, "z" in library) == ({"a", "b"}, 2, True, False)
    with pytest.raises(KeyError):
        library["z"]


def test_what_is_used_in_this_show_comes_first(shelf: Shelf) -> None:
    for number in range(9):
        put(shelf, light(f"k{number}", f"Light {number}"), str(number))
    library = Library([light("dimmer", "Light of ours")], (), shelf)
    assert [p.key for p in library.search(recent=("k8",), most=2)] == ["k8", "k0", "dimmer"]
    put(shelf, light("dimmer", "Light in its shadow"), "shadow")
    assert [p.key for p in library.search("shadow")] == []
    found = [p.key for p in library.search("light", ("k5", "dimmer"), most=6)]
    assert found == ["k5", "dimmer", "k0", "k1", "k2", "k3", "k4"]
    assert len(library.search("light", most=3)) == 4


def test_another_profile_of_the_same_key_gets_its_own_and_the_same_file_does_not(shelf: Shelf) -> None:
    assert put(shelf, light("a", "First"), "1", "11111111aa") == "a"
    assert put(shelf, light("a", "Second"), "2", "22222222bb") == "a-22222222"
    assert put(shelf, light("a", "First"), "copy of 1", "11111111aa") == "a"
    library = Library((), (), shelf)
    assert {key: library[key].name for key in library} == {"a": "First", "a-22222222": "Second"}
    assert library["a-22222222"] == replace(light("a", "Second"), key="a-22222222")
    assert library.called("SECOND") == "a-22222222"
    assert library.called("a") == "a"
    assert library.called("nobody") is None


def test_what_is_gone_from_the_folder_is_gone_from_the_shelf(shelf: Shelf) -> None:
    put(shelf, light("a", "First"), "1", "aa")
    put(shelf, light("a", "First"), "2", "aa")
    put(shelf, None, "3", "cc")
    shelf.forget(["1", "3"])
    assert (len(shelf), list(shelf.known()), shelf.problems(9)) == (1, ["2"], [])
    shelf.forget(["2"])
    assert (len(shelf), shelf.read("a")) == (0, None)


def test_only_some_are_kept_whole_in_memory(shelf: Shelf) -> None:
    for number in range(WHOLE_MOST + 8):
        put(shelf, light(f"k{number}", f"Light {number}"), str(number))
        assert shelf.read(f"k{number}") is not None
    assert len(shelf._whole) == WHOLE_MOST


def test_a_damaged_index_and_one_of_another_version_are_begun_anew(tmp_path: Path) -> None:
    path = tmp_path / "library.sqlite"
    path.write_bytes(b"no database" * 1000)
    with closing(Shelf(path)) as shelf:
        put(shelf, light("a", "First"), "1")
    with closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA user_version = 99")
    with closing(Shelf(path)) as shelf:
        assert (len(shelf), shelf.known()) == (0, {})
