"""The record of the day over HTTP: searched, and as a table."""

import sqlite3
from dataclasses import asdict
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Response
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem
from server.api.room import Room
from server.journal.record import MOST_ROWS, Entry, Wanted, read_record
from server.journal.show_file import reading
from server.paperwork.record_csv import write_record
from server.rig.said import Said

__all__ = ["cells", "read_entries", "router"]

MOST = 1000

router = APIRouter(prefix="/api", tags=["record"])

Text = Annotated[str, Query(max_length=200)]
Seconds = Annotated[float | None, Query(allow_inf_nan=False)]


def _wanted(
    asker: Asker,
    q: Text = "",
    person: Text = "",
    fixture: Text = "",
    since: Seconds = None,
    before: Seconds = None,
) -> Wanted:
    """House staff read what is about house fixtures, and nothing else."""
    return Wanted(q, person, fixture, since, before, house=asker.role == "house")


Search = Annotated[Wanted, Depends(_wanted)]


@router.get("/record")
async def record(
    wanted: Search, room: RoomOf, limit: Annotated[int, Query(ge=1, le=MOST)] = 100
) -> list[dict[str, Any]]:
    """The newest first. q: every word of it. person: id or name. since, before: wall-clock seconds."""
    return [asdict(entry) for entry in await run_in_threadpool(read_entries, room, wanted, limit)]


@router.get("/record.csv")
async def table(wanted: Search, room: RoomOf) -> Response:
    """The same as a table, oldest first, all of it."""
    text = await run_in_threadpool(_table, room, wanted)
    headers = {"Content-Disposition": 'attachment; filename="record.csv"'}
    # With the mark, or a spreadsheet reads every accent wrong.
    return Response(text.encode("utf-8-sig"), media_type="text/csv; charset=utf-8", headers=headers)


def read_entries(room: Room, wanted: Wanted, limit: int) -> list[Entry]:
    """The newest that fit, newest first. Raises Problem: the file cannot be read."""
    # A connection of its own: whoever reads waits for nobody who writes, nor the other way round.
    try:
        with reading(room.journal.path) as file:
            return read_record(file, wanted, limit)
    except sqlite3.Error as wrong:
        raise Problem(422, Said("The record cannot be read ({why}).", why=str(wrong))) from wrong


def _table(room: Room, wanted: Wanted) -> str:
    return write_record(cells(entry) for entry in reversed(read_entries(room, wanted, MOST_ROWS)))


def cells(entry: Entry) -> list[str]:
    """One row of the table."""
    time = datetime.fromtimestamp(entry.at).astimezone().isoformat(" ", "seconds")
    channel = "" if entry.channel is None else str(entry.channel)
    where = (channel, entry.position, entry.unit)
    return [time, entry.name, entry.role, entry.phone, *where, entry.what]
