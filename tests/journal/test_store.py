"""The journal: what it keeps comes back, in order, whatever happened to the program or the disk."""

import asyncio
import sqlite3
from collections.abc import Coroutine, Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.journal import store
from server.journal.show_file import ShowFileError
from server.journal.store import Journal, NotKeptError
from server.stage import events
from server.stage.apply import apply
from server.stage.events import Event
from server.stage.state import Look, State
from tests.journal.test_words import DAY
from tests.shows import LEAD, show_events

__all__: list[str] = []


class Show:
    """A journal and the state it should give back."""

    def __init__(self, path: Path) -> None:
        self.journal = Journal(path)
        self.state = self.journal.read()

    def happen(self, *happened: Event) -> asyncio.Future[None]:
        for event in happened:
            apply(self.state, event)
        return self.journal.keep(happened, 0.0)

    def close(self) -> None:
        self.journal.close(self.state)


def _run(work: Coroutine[None, None, None]) -> None:
    asyncio.run(work)


def _read(path: Path) -> State:
    """What another program finds in the file now: as after a crash, nobody has closed it."""
    with closing(Show(path)) as show:
        return show.state


def _kinds(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as file:
        return [kind for (kind,) in file.execute("SELECT kind FROM event ORDER BY seq")]


def test_what_was_kept_is_there_without_being_closed(tmp_path: Path) -> None:
    async def work() -> None:
        show = Show(tmp_path / "show.sqlite")
        await asyncio.gather(*(show.happen(event) for event in DAY))
        assert _read(tmp_path / "show.sqlite") == show.state
        show.close()

    _run(work())


def test_after_closing_it_is_there_too(tmp_path: Path) -> None:
    async def work() -> None:
        show = Show(tmp_path / "show.sqlite")
        show.happen(*DAY)  # not waited for: closing keeps what is queued
        show.close()
        assert _read(tmp_path / "show.sqlite") == show.state

    _run(work())


@settings(max_examples=15, deadline=None)
@given(st.lists(st.sampled_from(DAY[len(show_events()) :]), max_size=30), st.integers(1, 8))
def test_any_events_with_snapshots_in_between_give_the_same_state(
    tmp_path_factory: pytest.TempPathFactory, day: list[Event], every: int
) -> None:
    path = tmp_path_factory.mktemp("show") / "show.sqlite"

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events())
        for event in day:
            if _can_happen(event, show.state):
                await show.happen(event)
                show.journal.snapshot_if_due(show.state, every)
        assert _read(path) == show.state
        show.close()
        assert _read(path) == show.state

    _run(work())


def _can_happen(event: Event, state: State) -> bool:
    """Whether what it is about is still there."""
    match event:
        case events.LookRecalled():
            return event.look in state.looks
        case events.PersonRenamed():
            return event.who in state.people
    return True


def test_a_snapshot_drops_where_faders_passed_through_and_keeps_what_people_did(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"

    async def work() -> None:
        show = Show(path)
        drag = [events.LevelsSet(LEAD.id, "dim1", {"Dimmer": raw}) for raw in range(50)]
        show.happen(*show_events(), events.Taken(LEAD.id, "dim1"), *drag)
        show.close()
        assert _kinds(path).count("LevelsSet") == 1
        assert _kinds(path).count("Taken") == 1
        show = Show(path)
        assert show.state.hand == {"dim1": {"Dimmer": 49}}
        await show.happen(events.LevelsSet(LEAD.id, "dim1", {"Dimmer": 7}))
        assert _read(path).hand == {"dim1": {"Dimmer": 7}}
        show.close()

    _run(work())


def test_two_journals_in_one_program_do_not_mix(tmp_path: Path) -> None:
    async def work() -> None:
        one, other = Show(tmp_path / "one.sqlite"), Show(tmp_path / "other.sqlite")
        for level in (0.25, 0.5):
            await asyncio.gather(
                one.happen(events.MasterSet("", level)), other.happen(events.MasterSet("", 1 - level))
            )
        one.happen(events.BlackoutSet("", True))
        one.close()
        other.close()
        assert (_read(tmp_path / "one.sqlite").master, _read(tmp_path / "one.sqlite").blackout) == (0.5, True)
        assert _read(tmp_path / "other.sqlite").blackout is False

    _run(work())


@pytest.mark.parametrize(
    ("kind", "body"), [("Exploded", b"{}"), ("MasterSet", b"{"), ("LookRecalled", b"[]")]
)
def test_a_damaged_show_is_refused_with_a_sentence(tmp_path: Path, kind: str, body: bytes) -> None:
    path = tmp_path / "show.sqlite"
    Show(path).close()
    with closing(sqlite3.connect(path)) as file, file:
        file.execute("INSERT INTO event (at, person, kind, body) VALUES (0, '', ?, ?)", (kind, body))
    journal = Journal(path)
    with pytest.raises(ShowFileError, match="folder backups"):
        journal.read()


@contextmanager
def _full_disk(octets: int) -> Iterator[None]:
    """Let no file of this process grow past so many octets: the system's own refusal, not a pretended one."""
    resource = pytest.importorskip("resource")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (octets, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


async def _refused(show: Show, happened: Iterable[Event]) -> list[str]:
    refused = []
    for event in happened:
        try:
            await show.happen(event)
        except NotKeptError as wrong:
            refused.append(str(wrong))
    return refused


def test_a_full_disk_is_told_and_later_all_is_written_in_order(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events())
        names = [f"look-{n}" for n in range(40)]
        saved = [events.LookSaved("", Look(name, 40 * name, {})) for name in names]
        with _full_disk((tmp_path / "show.sqlite-wal").stat().st_size + 20_000):
            refused = await _refused(show, saved)
            assert 10 < len(refused) < 40
            assert "Free some space; the light stays." in refused[0]
            show.journal.snapshot_if_due(show.state, every=1)  # must not stand for what is not in the file
            last = names[-1]
            rest = [events.MasterSet("", 0.5), events.LookRecalled("", last, 0), events.LookDeleted("", last)]
            assert len(await _refused(show, rest)) == 3
        await show.happen(events.MasterSet("", 0.75))
        assert _kinds(path)[-44:] == ["LookSaved"] * 40 + [
            "MasterSet",
            "LookRecalled",
            "LookDeleted",
            "MasterSet",
        ]
        assert _read(path) == show.state
        show.close()

    _run(work())


def test_what_a_full_disk_did_not_take_is_written_without_being_asked_again(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events())
        with _full_disk(1), pytest.raises(NotKeptError):
            await show.happen(events.BlackoutSet("", True))
        assert "disk" in (show.journal.trouble or "")
        await _until_well(show)
        assert _kinds(path)[-1] == "BlackoutSet"
        show.close()

    _run(work())


async def _until_well(show: Show) -> None:
    """Look at it twice a second or more, as a running server does; fails after ten seconds."""
    async with asyncio.timeout(10):
        while show.journal.trouble:
            show.journal.snapshot_if_due(show.state)
            await asyncio.sleep(0.02)


def test_a_disk_full_for_longer_than_can_be_remembered_loses_no_deed_and_no_level(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store, "MOST_OWED", 50)
    monkeypatch.setattr(store, "RECOVER_S", 0.05)
    path = tmp_path / "show.sqlite"

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events())
        with _full_disk(1):
            saved = events.LookSaved("", Look("late", "Late", {"dim1": {"Dimmer": 9}}))
            assert len(await _refused(show, [saved, events.Taken(LEAD.id, "dim1")])) == 2
            drag = [events.LevelsSet(LEAD.id, "dim1", {"Dimmer": raw}) for raw in range(200)]
            assert len(await _refused(show, drag)) == 200
            assert len(await _refused(show, [events.LookRecalled("", "late", 0.0)])) == 1
            # Room for a little again: what is owed must not go in without the levels that were let go.
        with pytest.raises(NotKeptError):
            await show.happen(events.LevelsSet(LEAD.id, "dim1", {"Dimmer": 255}))
        await _until_well(show)
        assert _read(path) == show.state
        assert show.state.hand == {"dim1": {"Dimmer": 255}}
        assert _kinds(path)[len(show_events()) :] == ["LookSaved", "Taken", "LookRecalled"]
        await show.happen(events.LevelsSet(LEAD.id, "dim1", {"Dimmer": 3}))
        assert _read(path) == show.state
        show.close()

    _run(work())


def test_closed_while_much_is_owed_everything_is_in_the_last_snapshot(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store, "MOST_OWED", 5)
    path = tmp_path / "show.sqlite"

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events())
        drag = [events.LevelsSet(LEAD.id, "dim1", {"Dimmer": raw}) for raw in range(20)]
        with _full_disk(1):
            assert len(await _refused(show, drag)) == 20
        show.close()
        assert _read(path).hand == {"dim1": {"Dimmer": 19}}

    _run(work())


def test_a_disk_that_turned_read_only_is_told_and_all_is_kept_once_it_takes_again(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events())
        # The database's own refusal, as from a disk that the system has made read-only after a fault.
        show.journal._file.execute("PRAGMA query_only = ON")
        with pytest.raises(NotKeptError, match="readonly"):
            await show.happen(events.BlackoutSet("", True))
        show.journal._file.execute("PRAGMA query_only = OFF")
        await _until_well(show)
        assert _read(path) == show.state
        show.close()

    _run(work())


def test_a_slow_disk_is_told_while_it_is_slow(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "SLOW_S", 0.05)
    path = tmp_path / "show.sqlite"
    told: list[str | None] = []

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events())
        told.append(show.journal.trouble)
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")  # whoever has the file: the writing thread waits
            kept = show.happen(events.BlackoutSet("", True))
            await asyncio.sleep(0.1)
            assert not kept.done()
            told.append(show.journal.trouble)
            other.execute("ROLLBACK")
        await kept
        told.append(show.journal.trouble)
        show.close()

    _run(work())
    assert told == [None, store.SLOW, None]


def test_the_file_of_a_long_day_of_drags_stays_as_small_as_that_of_a_short_one(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"
    files = (path, tmp_path / "show.sqlite-wal")
    sizes: list[list[int]] = []

    async def work() -> None:
        show = Show(path)
        await show.happen(*show_events(), events.Taken(LEAD.id, "dim1"))
        for _ in range(30):
            for raw in range(2000):  # as 64 phones ask within a second, and no answer is waited for
                show.happen(events.LevelsSet(LEAD.id, "dim1", {"Dimmer": raw % 256}))
                show.journal.snapshot_if_due(show.state, 2000)
            await show.happen(events.MasterSet("", 1.0))
            sizes.append([each.stat().st_size for each in files])
        show.close()

    _run(work())
    # Kept, these 60,000 events would take 5 MB. The log beside the file grows to SQLite's own measure (1000
    # pages of 4 KiB, and what was being written when it was reached) and is then used again.
    assert max(file for file, _ in sizes) < 1_000_000
    assert max(log for _, log in sizes) < 6_000_000
    assert len(_kinds(path)) < 100
