"""Photos of fixtures: taken with the phone's own camera, kept with the show."""

import sqlite3
import uuid
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.uploads import body_or_file
from server.journal.photos import forgotten, kept, read_photo
from server.journal.show_file import reading
from server.paperwork.photo import PhotoError, plain_photo
from server.rig.said import Said
from server.stage.commands import DropPhoto, KeepPhoto
from server.stage.decide_photo import NONE, may_see_photo
from server.stage.holds import Refused

__all__ = ["router"]

LONGEST_FILE = 1024 * 1024  # with all that a phone writes beside the picture, which is not kept
FOR_EVER = "private, max-age=31536000, immutable"  # another picture has another name

router = APIRouter(prefix="/api/photos", tags=["photos"])


@router.get("")
async def photos(asker: Asker, room: RoomOf, fixture: str = "") -> list[dict[str, Any]]:
    """What photos there are, of one fixture or of all, newest first."""
    state = room.stage.state
    found = [
        photo
        for photo, taken in state.photos.items()
        if (not fixture or taken.fixture == fixture) and may_see_photo(state, asker.id, taken)
    ]
    return [_shown(room, photo) for photo in reversed(found)]


@router.post("", status_code=201)
async def keep(
    request: Request,
    asker: Asker,
    room: RoomOf,
    fixture: str = "",
    photo: Annotated[str, Query(pattern="^([0-9a-f]{32})?$")] = "",
) -> dict[str, Any]:
    """Keep a JPEG of a fixture. What the phone wrote beside the picture (place, time, model) is taken out.

    photo: the phone's own name for it, 32 hexadecimal digits: what it may have to send twice is kept once.
    """
    taken = room.stage.state.photos.get(photo)
    if taken is not None and (taken.person, taken.fixture) == (asker.id, fixture):
        return _shown(room, photo)
    data = await body_or_file(request, LONGEST_FILE)
    try:
        body = plain_photo(data)
    except PhotoError as wrong:
        raise Problem(422, wrong.args[0]) from wrong
    if room.journal.trouble is not None:  # what a disk does not take would wait for it in memory
        raise Problem(422, room.journal.trouble)
    photo = photo or uuid.uuid4().hex
    done = await room.do(KeepPhoto(asker.id, fixture, photo, len(body)), [kept(photo, body)])
    if isinstance(done, Refused):
        raise refusal(done)
    return _shown(room, photo)


@router.get("/{photo}")
async def picture(photo: str, asker: Asker, room: RoomOf) -> Response:
    """The picture itself."""
    state = room.stage.state
    taken = state.photos.get(photo)
    if taken is None or not may_see_photo(state, asker.id, taken):
        raise Problem(404, NONE)
    body = await run_in_threadpool(_read, room, photo)
    if body is None:
        raise Problem(404, NONE)
    return Response(body, media_type="image/jpeg", headers={"Cache-Control": FOR_EVER})


@router.delete("/{photo}", status_code=204)
async def drop(photo: str, asker: Asker, room: RoomOf) -> None:
    """Delete it: who took it, or the lead."""
    if photo not in room.stage.state.photos:
        raise Problem(404, NONE)
    done = await room.do(DropPhoto(asker.id, photo), [forgotten(photo)])
    if isinstance(done, Refused):
        raise refusal(done)


def _read(room: Room, photo: str) -> bytes | None:
    try:
        with reading(room.journal.path) as file:
            return read_photo(file, photo)
    except sqlite3.Error as wrong:
        raise Problem(422, Said("The photo cannot be read ({why}).", why=str(wrong))) from wrong


def _shown(room: Room, photo: str) -> dict[str, Any]:
    taken = room.stage.state.photos[photo]
    about = {"fixture": taken.fixture, "by": taken.name, "at": taken.at, "octets": taken.octets}
    return {"photo": photo, **about}
