"""Photos in the show's file: kept with the event or not at all, and gone when they are deleted."""

import asyncio
from contextlib import closing
from pathlib import Path

from server.journal.photos import forgotten, kept, kept_all, read_photo, read_photos
from server.journal.show_file import MIGRATIONS, open_show, reading
from server.journal.store import Journal
from server.journal.travel import pack, unpack, unpack_photos
from server.journal.words import event_to_text
from server.stage import events
from server.stage.apply import apply
from server.stage.carried import carried
from server.stage.found import Photo
from server.stage.state import State
from tests.shows import show_events

__all__: list[str] = []

TAKEN = Photo("dim1", "p-mo", "Mo", 5.0, 3)


def test_a_photo_and_the_event_that_says_what_it_is_of_are_kept_together(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"

    async def day() -> None:
        journal = Journal(path)
        journal.read()
        await journal.keep([events.PhotoKept("p-mo", "a", TAKEN)], 1.0, [kept("a", b"one")])
        await journal.keep([events.PhotoKept("p-mo", "b", TAKEN)], 1.0, [kept("b", b"two")])
        await journal.keep([events.PhotoDropped("p-mo", "b")], 2.0, [forgotten("b")])
        with reading(path) as file:
            assert read_photos(file, ("a", "b")) == {"a": b"one"}
        journal.snapshot_if_due(State(photos={"a": TAKEN}), every=0)
        await journal.keep([events.PersonCame("p-mo")], 3.0, kept_all({"c": b"six"}))
        journal.close(State(photos={"c": TAKEN}))

    asyncio.run(day())
    with reading(path) as file:
        assert read_photo(file, "a") is None
        assert read_photo(file, "c") == b"six"
    journal = Journal(path)
    assert journal.read().photos == {"c": TAKEN}
    journal.close(State())


def test_a_file_from_before_there_were_photos_gets_room_for_them(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    with closing(open_show(path)) as file:
        file.executescript(f"DROP TABLE photo; PRAGMA user_version = {max(MIGRATIONS)}")
    with closing(open_show(path)) as file:
        assert read_photo(file, "a") is None


def test_photos_travel_with_a_show_and_those_that_are_missing_do_not() -> None:
    state = State()
    for event in (*show_events(), *(events.PhotoKept("p-mo", name, TAKEN) for name in "ab")):
        assert event_to_text(event)
        apply(state, event)
    data = pack(carried(state), (), {"a": b"one"})
    read = unpack(data)
    assert read.photos == state.photos
    assert unpack_photos(data, read) == {"a": b"one"}
