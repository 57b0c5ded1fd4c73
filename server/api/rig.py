"""The rig as a file: in, with a report first, and out."""

import uuid
from collections import ChainMap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

from fastapi import APIRouter, Request, Response
from starlette.concurrency import run_in_threadpool

from server.api.fixtures import profiles_for
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.uploads import body_or_file
from server.api.view import patch_view
from server.paperwork.changes import Changes, changes, problems_in
from server.paperwork.csv import read_rig, write_rig
from server.paperwork.problems import Problem as FileProblem
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.commands import ChangePatch
from server.stage.decide import allow
from server.stage.holds import Refused

__all__ = ["Import", "read_in", "router"]

LONGEST_FILE = 32 * 1024 * 1024

router = APIRouter(prefix="/api/rig", tags=["rig"])


@dataclass(frozen=True, slots=True)
class Import:
    """What a rig file would do, and everything that is wrong with it."""

    found: Changes
    problems: tuple[FileProblem, ...]

    def report(self) -> dict[str, Any]:
        """As the import call answers."""
        return {
            "added": [patch_view(f) for f in self.found.added],
            "changed": [patch_view(f) for f in self.found.changed],
            "removed": [patch_view(f) for f in self.found.removed],
            "problems": [{"where": p.where, "why": p.why} for p in self.problems],
        }

    def command(self, room: Room, person: str) -> ChangePatch:
        """What has to be asked of the stage to do it."""
        put = (*self.found.added, *self.found.changed)
        removed = tuple(f.id for f in self.found.removed)
        return ChangePatch(person, put, removed, profiles_for(room, {f.profile for f in put}))


def read_in(room: Room, data: bytes) -> Import:
    """Read a rig file against the rig as it is. Nothing is changed."""
    rows, problems = read_rig(data, room.library)
    # One look each, in one step: another phone may change the patch while a long file is read in a thread.
    fixtures, profiles = tuple(room.stage.state.fixtures.values()), dict(room.stage.state.profiles)
    found = changes(rows, fixtures, lambda: uuid.uuid4().hex[:8])
    wrong = problems_in(
        found,
        fixtures,
        ChainMap(profiles, cast("dict[str, Profile]", room.library)),
        room.stage.rules.off_limits,
    )
    return Import(found, (*problems, *wrong))


@router.post("/import")
async def bring_in(request: Request, asker: Asker, room: RoomOf, check: bool = False) -> dict[str, Any]:
    """Make the rig what the file says, all of it or nothing; with ?check=true only say what would change."""
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    data = await body_or_file(request, LONGEST_FILE)
    read = await run_in_threadpool(read_in, room, data)
    if check:
        return read.report()
    if read.problems:
        raise Problem(422, _not_changed(read.problems), **read.report())
    done = await room.do(read.command(room, asker.id))
    if isinstance(done, Refused):
        raise Problem(422, Said("Nothing was changed. {why}", why=done.why), **read.report())
    return read.report()


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
