"""Handing over: one zip with all that is known, and what is otherwise than the last time at this venue."""

import base64
import time
from dataclasses import asdict, replace
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from server.api.papers import Language, Size
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.record import cells, read_entries
from server.api.room import Room
from server.api.uploads import body_or_file
from server.journal.photos import read_photo
from server.journal.record import MOST_ROWS, Entry, Wanted
from server.journal.show_file import reading
from server.paperwork.check_csv import write_round
from server.paperwork.csv import write_rig
from server.paperwork.fault_csv import write_faults
from server.paperwork.handover import NotAPackError, Pack, pack_of, write_pack
from server.paperwork.handover_compare import compare
from server.paperwork.handover_csv import write_focus, write_looks, write_positions
from server.paperwork.handover_file import pack_in, zipped
from server.paperwork.handover_kept import SAME_S, keep_pack, kept_packs
from server.paperwork.printed.handed import PHOTOS_MOST, handed, newest_photos
from server.paperwork.printed.rows import Job, ranges_of, snapshot
from server.paperwork.record_csv import write_record
from server.rig.said import Said
from server.stage.decide import allow
from server.stage.state import State

__all__ = ["router"]

DAY_S = 24 * 3600.0
LONGEST_FILE = 64 * 2**20  # octets: the paper with its photos, and the tables

router = APIRouter(prefix="/api", tags=["hand-over"])


@router.get("/handover.zip")
async def handover(asker: Asker, room: RoomOf, size: Size = "a4", language: Language = "en") -> Response:
    """All there is to hand over: a paper, tables, and what the next time is compared with.

    That last part is also kept on this laptop, for the venue.
    """
    _lead_only(room, asker.id)
    at, state, folder = time.time(), snapshot(room.stage.state), room.settings.show_folder
    now = await run_in_threadpool(pack_of, state, at, asker.name)
    kept = await run_in_threadpool(_kept, room, state.show.venue)
    last = next((pack for pack in kept if pack.show == now.show and at - pack.at >= SAME_S), None)
    day = await run_in_threadpool(read_entries, room, Wanted(since=at - DAY_S), MOST_ROWS)
    pictures = await run_in_threadpool(_pictures, room, state)
    printed = datetime.fromtimestamp(at).astimezone().strftime("%Y-%m-%d %H:%M")
    there = [(entry.name, entry.role) for entry in day if entry.name]
    told = await run_in_threadpool(handed, state, asker.id, there, now, last, pictures)
    rules, show = room.stage.rules, state.show
    job = Job("handover", size, language, show.name, show.venue, printed, [], ranges_of(rules.off_limits))
    paper = await room.press.draw(replace(job, handed=told))
    tables = await run_in_threadpool(_tables, state, day)
    data = await run_in_threadpool(zipped, paper, write_pack(now), tables)
    try:
        await run_in_threadpool(keep_pack, folder, now)
        room.alert("handover", None)
    except OSError as wrong:
        why = str(wrong)
        room.alert("handover", Said("This hand-over could not be kept for the next time ({why}).", why=why))
    name = f"handover-{datetime.fromtimestamp(at).astimezone():%Y%m%d-%H%M}.zip"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type="application/zip", headers=headers)


@router.get("/handover/last")
async def last_time(
    asker: Asker, room: RoomOf, pack: Annotated[int, Query(ge=0, le=99)] = 0
) -> dict[str, Any]:
    """The hand-overs kept for this venue, newest first, and what is otherwise now than at one of them.

    pack: which of them, 0 the newest.
    """
    _lead_only(room, asker.id)
    state = snapshot(room.stage.state)
    kept = await run_in_threadpool(_kept, room, state.show.venue)
    if pack and pack >= len(kept):
        raise Problem(422, Said("There is no such hand-over any more."))
    now = await run_in_threadpool(pack_of, state, time.time(), asker.name)
    compared = await run_in_threadpool(_compared, kept[pack], now) if kept else None
    return {"packs": [_about(each) for each in kept], "compared": compared}


@router.post("/handover/compare")
async def compared_with(request: Request, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """What is otherwise now than in a pack that is brought: the zip, or the pack.json out of it."""
    _lead_only(room, asker.id)
    data = await body_or_file(request, LONGEST_FILE)
    try:
        then = await run_in_threadpool(pack_in, data)
    except NotAPackError as wrong:
        raise Problem(422, wrong.why) from wrong
    now = await run_in_threadpool(pack_of, snapshot(room.stage.state), time.time(), asker.name)
    return await run_in_threadpool(_compared, then, now)


def _lead_only(room: Room, person: str) -> None:
    if refused := allow(room.stage.state, person, "lead"):
        raise refusal(refused)


def _kept(room: Room, venue: str) -> list[Pack]:
    try:
        return kept_packs(room.settings.show_folder, venue)
    except OSError:
        return []


def _about(pack: Pack) -> dict[str, Any]:
    return {"at": pack.at, "show": pack.show, "venue": pack.venue, "by": pack.by}


def _compared(then: Pack, now: Pack) -> dict[str, Any]:
    found = asdict(compare(then, now))
    found["looks"] = [{"name": name, "units": units} for name, units in found["looks"]]
    return {"then": _about(then), **found}


def _pictures(room: Room, state: State) -> dict[str, str]:
    """As many of the newest photos as may be printed, in Base64, by fixture; as they hang."""
    found, octets = {}, 0
    with reading(room.journal.path) as file:
        for fixture, name in newest_photos(state).items():
            body = read_photo(file, name)
            octets += len(body) if body else 0
            if body and octets <= PHOTOS_MOST:
                found[fixture] = base64.b64encode(body).decode()
    return found


def _tables(state: State, day: list[Entry]) -> dict[str, str]:
    seen = sorted(state.judged.items(), key=lambda one: one[1].at)
    cases = sorted(state.cases.values(), key=lambda case: case.number)
    return {
        "patch": write_rig(state.fixtures.values()),
        "focus": write_focus(state),
        "looks": write_looks(state),
        "positions": write_positions(state),
        "faults": write_faults(cases),
        "rig-check": write_round((_date(verdict.at), verdict) for _, verdict in seen),
        "record": write_record(cells(entry) for entry in reversed(day)),
    }


def _date(at: float) -> str:
    return datetime.fromtimestamp(at).astimezone().isoformat(" ", "seconds")
