"""The rig as a file: in, with a report first, and out."""

import contextlib
import hashlib
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import Field
from starlette.concurrency import run_in_threadpool

from server import __version__
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.rig_read import How, add_to_library, read_file
from server.api.room import Room
from server.api.uploads import spooled
from server.paperwork.columns import FIELDS
from server.paperwork.csv import write_rig
from server.paperwork.mvr_out import write_mvr
from server.paperwork.problems import Problem as FileProblem
from server.paperwork.rig_json import write_rig_json
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.decide import allow
from server.stage.holds import Refused

__all__ = ["router"]

LONGEST_FILE = 256 * 1024 * 1024  # a drawing with its models; nothing but its text and fixture files is read
Column = Annotated[str, Field(max_length=120, pattern=f"^({'|'.join(FIELDS)})?:[^:]")]

router = APIRouter(prefix="/api/rig", tags=["rig"])


@router.post("/import")
async def bring_in(
    request: Request,
    asker: Asker,
    room: RoomOf,
    check: bool = False,
    leave_out: bool = False,
    keep: bool = False,
    even_so: bool = False,
    column: Annotated[list[Column], Query(max_length=64)] = [],  # noqa: B006 (read only)
) -> dict[str, Any]:
    """Make the rig what the file says, all of it or nothing; with ?check=true only say what would change.

    A table (CSV), a file of ours (JSON), or a drawing (MVR) with the fixture files in it. With
    ?leave_out=true the units that have a problem are left out, as the report says, and the rest is taken in.
    keep: fixtures that it does not name stay. even_so: two units of one number at one position are wanted.
    column: what a column of a table is, as `field:heading`, where its heading does not say so; `:heading` for
    none of the fields. It is one change, whose number the answer has: undone, all of it is.
    """
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    named = [each.partition(":") for each in column]
    how = How(keep, even_so, leave_out, {heading: name for name, _, heading in named})
    with tempfile.TemporaryDirectory(prefix="focuscall-") as place:
        folder = Path(place)
        path = (await spooled(request, LONGEST_FILE, folder))[0][1]
        read = await read_file(room, path, folder, how)
        if check:
            return read.report()
        if read.problems and not (leave_out and read.fits):
            raise Problem(422, _not_changed(read.problems), **read.report())
        before = room.stage.state.changed
        asked = room.ask(read.command(room, asker.id))
        change = room.stage.state.changed
        done = asked if isinstance(asked, Refused) else await room.settled(asked)
        if isinstance(done, Refused):
            raise Problem(422, Said("Nothing was changed. {why}", why=done.why), **read.report())
        await add_to_library(room, read)
    return read.report(None if change == before else change)


def _not_changed(problems: Sequence[FileProblem]) -> Said:
    first, more = str(problems[0]), len(problems) - 1
    if more:
        return Said("Nothing was changed. {first} and {more} more", first=first, more=more)
    return Said("Nothing was changed. {why}", why=first)


@router.get("/export.csv")
async def export(asker: Asker, room: RoomOf) -> Response:
    """The rig as a table that the import reads back."""
    # With the mark, or a spreadsheet reads every accent wrong.
    text = write_rig(room.stage.state.fixtures.values())
    headers = {"Content-Disposition": 'attachment; filename="rig.csv"'}
    return Response(text.encode("utf-8-sig"), media_type="text/csv; charset=utf-8", headers=headers)


@router.get("/export.json")
async def export_json(asker: Asker, room: RoomOf) -> Response:
    """The rig with every field of every fixture, as a file that the import reads back."""
    text = write_rig_json(room.stage.state.fixtures.values())
    headers = {"Content-Disposition": 'attachment; filename="rig.json"'}
    return Response(text, media_type="application/json", headers=headers)


@router.get("/export.mvr")
async def export_drawing(asker: Asker, room: RoomOf) -> Response:
    """The rig as a drawing that the import reads back, with a fixture file for each type.

    It is the maker's own where that lies in the library of this laptop, else one made from the profile.
    """
    state = room.stage.state
    fixtures, profiles = tuple(state.fixtures.values()), dict(state.profiles)
    data = await run_in_threadpool(
        lambda: write_mvr(fixtures, profiles, _sources(room, profiles), __version__)
    )
    headers = {"Content-Disposition": 'attachment; filename="rig.mvr"'}
    return Response(data, media_type="application/octet-stream", headers=headers)


def _sources(room: Room, profiles: Mapping[str, Profile]) -> dict[str, bytes]:
    out = {}
    for key, profile in profiles.items():
        path = room.stock.shelf.source(profile.source.sha256) if profile.source else None
        if profile.source and path is not None:
            with contextlib.suppress(OSError):
                data = path.read_bytes()
                if hashlib.sha256(data).hexdigest() == profile.source.sha256:
                    out[key] = data
    return out
