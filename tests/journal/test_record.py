"""The record of the day: a row for each change and fixture, found again, whatever the disk does."""

import asyncio
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from server.journal import record
from server.journal.record import Entry, Wanted, entries, read_record, writes
from server.journal.show_file import open_show, reading
from server.journal.store import Journal, NotKeptError
from server.stage import commands as ask
from server.stage import events
from server.stage.commands import Command
from server.stage.events import Event
from server.stage.holds import Refused
from server.stage.stage import Stage
from server.stage.state import Person, Who
from tests.rigs import stage_with, unit
from tests.small_disks import limited_growth

__all__: list[str] = []


def do(stage: Stage, command: Command, now: float) -> list[Event]:
    answer = stage.ask(command, now)
    assert not isinstance(answer, Refused), answer.why
    return list(answer)


def day() -> tuple[Stage, list[Event]]:
    """Some of a day, and what happened."""
    stage = stage_with()
    happened: list[Event] = []
    eve = Person("eve", "Eve", "crew", "", "Android phone")
    asked = (
        ask.Join("eve", eve),
        ask.SetValues("eve", "head", {"Pan": 0.5}),
        ask.SetValues("eve", "head", {"Pan": 0.6}),
        ask.SetMany("mo", {"spot": {"Dimmer": 0.5}, "aisle": {"Dimmer": 0.5}}),
        ask.SetMaster("mo", 0.5),
        ask.LetGo("eve", "*"),
        ask.ChangePatch("ann", remove=("head",)),
        ask.Undo("ann", 6),
    )
    for turn, command in enumerate(asked):
        happened += do(stage, command, 100.0 + turn)
    return stage, happened


@pytest.fixture
def file(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    stage, happened = day()
    with closing(open_show(tmp_path / "show.sqlite")) as made:
        for statement, filled in writes(stage.state, happened):
            made.execute(statement, filled)
        yield made


def whats(file: sqlite3.Connection, **wanted: object) -> list[str]:
    return [entry.what for entry in read_record(file, Wanted(**wanted), 100)]  # type: ignore[arg-type]


def test_a_change_is_a_row_for_each_fixture_and_says_who_where_and_from_which_phone(
    file: sqlite3.Connection,
) -> None:
    rows = read_record(file, Wanted(), 100)
    assert [(row.name, row.fixture, row.what) for row in reversed(rows)] == [
        ("Eve", "", "Joined."),
        ("Eve", "head", "Set Pan 60 %."),
        ("Mo", "spot", "Set Dimmer 50 %, 2 fixtures together."),
        ("Mo", "aisle", "Set Dimmer 50 %, 2 fixtures together."),
        ("Mo", "", "Set the master to 50 %."),
        ("Eve", "head", "Let go of it."),
        ("Ann", "head", "Took it out of the rig."),
        ("Ann", "head", "Undid: Took it out of the rig."),
    ]
    assert rows[-2] == Entry(
        *(2, 101.0, "eve", "Eve", "crew", "Android phone", "head", 21, "Bridge 1", "3", False),
        what="Set Pan 60 %.",
        said=["Set {values}.", {"values": "Pan 60 %"}],
    )
    # It was gone when this was written down, and is called as it was.
    assert (rows[1].channel, rows[1].position) == (21, "Bridge 1")


@pytest.mark.parametrize(
    ("wanted", "count"),
    [
        ({"q": "pan 60"}, 1),
        ({"q": "BRIDGE rig"}, 2),
        ({"q": "android"}, 3),
        ({"q": "60%"}, 0),
        ({"q": "50 %"}, 3),
        ({"q": "_"}, 0),
        ({"q": "'; DROP TABLE record"}, 0),
        ({"person": "mo"}, 3),
        ({"person": "Eve"}, 3),
        ({"fixture": "aisle"}, 1),
        ({"since": 105.0}, 3),
        ({"before": 101.0}, 1),
        ({"since": 101.0, "before": 102.0, "q": "set"}, 1),
        ({"house": True}, 1),
        ({"house": True, "fixture": "spot"}, 0),
    ],
)
def test_it_is_searched(file: sqlite3.Connection, wanted: dict[str, object], count: int) -> None:
    assert len(whats(file, **wanted)) == count


def test_no_more_than_asked_for_comes_and_it_is_the_newest(file: sqlite3.Connection) -> None:
    assert [entry.what for entry in read_record(file, Wanted(), 2)] == [
        "Undid: Took it out of the rig.",
        "Took it out of the rig.",
    ]


def test_what_was_too_much_to_undo_is_recorded_for_every_fixture() -> None:
    stage = stage_with()
    by = Who("Ann", "lead")
    event = events.Changed("ann", 1, 0.0, by, ("fixture spot", "fixture gone", "order"), ["x"], None)
    rows = entries(stage.state, event)
    assert [(row.fixture, row.channel) for row in rows] == [("spot", 1), ("gone", None)]


async def _keep(journal: Journal, stage: Stage, command: Command, now: float) -> None:
    happened = do(stage, command, now)
    await journal.keep(happened, now, writes(stage.state, happened))


def _read(path: Path) -> list[str]:
    with reading(path) as file:
        return whats(file)


def test_it_is_written_with_what_happened_and_bounded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "show.sqlite"
    bound = record.BOUND.replace(str(record.MOST_ROWS), "3")
    monkeypatch.setattr("server.journal.store.BOUND", bound)

    async def work() -> None:
        journal = Journal(path)
        stage = Stage(stage_with().rules, journal.read())
        stage.state.people = dict(stage_with().state.people)
        for turn in range(5):
            await _keep(journal, stage, ask.SetMaster("mo", turn / 10), 10.0 * turn)
        assert len(_read(path)) == 5
        journal.close(stage.state)
        assert _read(path) == [f"Set the master to {percent} %." for percent in (40, 30, 20)]

    asyncio.run(work())


def test_what_a_full_disk_did_not_take_is_recorded_later_too(tmp_path: Path) -> None:
    path = tmp_path / "show.sqlite"

    async def work() -> None:
        journal = Journal(path)
        stage = Stage(stage_with().rules, journal.read())
        stage.state.people = dict(stage_with().state.people)
        stage.state.fixtures = {"spot": unit("spot")}
        with limited_growth(os.getpid()), pytest.raises(NotKeptError):
            await _keep(journal, stage, ask.SetBlackout("mo", True), 1.0)
        await _keep(journal, stage, ask.SetBlackout("mo", False), 2.0)
        assert _read(path) == ["Blackout off.", "Blackout."]
        journal.close(stage.state)

    asyncio.run(work())
