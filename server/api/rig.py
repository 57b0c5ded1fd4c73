"""The rig as a file: in, with a report first, and out."""

import contextlib
import hashlib
import tempfile
import uuid
from collections import ChainMap
from collections.abc import Mapping, Sequence
from contextlib import aclosing
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any, cast

from fastapi import APIRouter, Query, Request, Response
from pydantic import Field
from starlette.concurrency import run_in_threadpool

from server import __version__
from server.api.fixtures import profiles_for
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.uploads import spooled
from server.api.view import patch_view, said_view
from server.paperwork.apart import ReadingFailed, answers
from server.paperwork.changes import Changes, changes, findings_in
from server.paperwork.columns import FIELDS
from server.paperwork.csv import Sheet, read_sheet, write_rig
from server.paperwork.drawn import Types, rows_of, unit_from
from server.paperwork.mvr_out import write_mvr
from server.paperwork.problems import Problem as FileProblem
from server.paperwork.profiles import profile_from_json
from server.paperwork.read_profile import ZIP
from server.paperwork.reader import place_for
from server.paperwork.rig_json import is_json, read_rig_json, write_rig_json
from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.commands import ChangePatch
from server.stage.decide import allow
from server.stage.holds import Refused

__all__ = ["Import", "read_in", "router"]

LONGEST_FILE = 256 * 1024 * 1024  # a drawing with its models; nothing but its text and fixture files is read
TABLE_MOST = 32 * 1024 * 1024
LEFT_OUT_MOST = 1000
Column = Annotated[str, Field(max_length=120, pattern=f"^({'|'.join(FIELDS)})?:[^:]")]

router = APIRouter(prefix="/api/rig", tags=["rig"])


@dataclass(frozen=True, slots=True)
class How:
    """How a file is meant. keep: what it does not name stays. even_so: two units of one number are wanted.

    by_hand: fields by heading, for a table.
    """

    keep: bool = False
    even_so: bool = False
    by_hand: Mapping[str, str] = field(default_factory=dict)


AS_IT_IS = How()


@dataclass(frozen=True, slots=True)
class Import:
    """What a rig file would do, and everything that is wrong with it.

    before: the changed ones as they are. warnings: what may be meant. columns: what each is read as, by its
    heading. new: fixture types that the file brings, by profile key. files: the maker's file of each.
    left_out: what the file says beyond it.
    """

    found: Changes
    problems: tuple[FileProblem, ...]
    how: How = AS_IT_IS
    before: tuple[Fixture, ...] = ()
    warnings: tuple[FileProblem, ...] = ()
    columns: Mapping[str, str] = field(default_factory=dict)
    left_out: tuple[FileProblem, ...] = ()
    new: Mapping[str, Profile] = field(default_factory=dict)
    files: Mapping[str, Path] = field(default_factory=dict)

    def report(self) -> dict[str, Any]:
        """As the import call answers."""
        return {
            "added": [patch_view(f) for f in self._fit(self.found.added)],
            "changed": [patch_view(f) for f in self._fit(self.found.changed)],
            "before": [patch_view(f) for f in self._fit(self.before)],
            "removed": [patch_view(f) for f in self.found.removed],
            "problems": [_problem_view(p) for p in self.problems],
            "warnings": [_problem_view(p) for p in self.warnings],
            "columns": dict(self.columns),
            "left_out": [{"where": p.where, "why": p.why} for p in self.left_out[:LEFT_OUT_MOST]],
        }

    def command(self, room: Room, person: str) -> ChangePatch:
        """What has to be asked of the stage to do it, without the units that have a problem.

        One of those that is known already stays as it is.
        """
        put = self._fit((*self.found.added, *self.found.changed))
        removed = tuple(f.id for f in self.found.removed)
        used = {f.profile for f in put}
        mine = tuple(self.new[key] for key in sorted(used & self.new.keys()))
        brought = *profiles_for(room, used - self.new.keys()), *mine
        return ChangePatch(person, put, removed, brought, self.how.even_so)

    def _fit(self, fixtures: tuple[Fixture, ...]) -> tuple[Fixture, ...]:
        wrong = {problem.where for problem in self.problems}
        return tuple(f for f in fixtures if self.found.places[f.id] not in wrong)


def _problem_view(problem: FileProblem) -> dict[str, Any]:
    said = said_view(problem.why) if isinstance(problem.why, Said) else {"why": problem.why}
    return {"where": problem.where, **said}


def read_in(room: Room, data: bytes, how: How = AS_IT_IS) -> Import:
    """Read a table, or a file of ours, against the rig as it is. Nothing is changed."""
    if is_json(data):
        known = ChainMap(dict(room.stage.state.profiles), cast("dict[str, Profile]", room.library))
        return _compared(room, read_rig_json(data, known), how)
    return _compared(room, read_sheet(data, room.library, how.by_hand), how)


async def _drawn(room: Room, path: Path, folder: Path, how: How) -> Import:
    """Read a drawing (MVR) against the rig as it is, in a process of its own. Nothing is changed."""
    inside: dict[str, Profile] = {}
    useless: dict[str, str] = {}
    files: dict[str, Path] = {}
    left_out: list[FileProblem] = []
    last: dict[str, Any] = {"units": [], "problems": [], "left_out": []}
    job = {"do": "drawing", "path": str(path), "folder": str(folder)}
    try:
        async with aclosing(answers(job)) as given:
            async for answer in given:
                if "spec" not in answer:
                    last = answer
                    continue
                spec, problems = answer["spec"], [FileProblem(**each) for each in answer["problems"]]
                if answer["profile"] is None:
                    useless[spec] = str(problems[0])
                    continue
                profile = await run_in_threadpool(profile_from_json, answer["profile"])
                inside[spec], files[spec] = profile, Path(answer["file"])
                left_out += [FileProblem(spec, str(each)) for each in problems]
    except ReadingFailed as why:
        last["problems"] = [{"where": "", "why": str(why)}]
    left_out += [FileProblem(**each) for each in last["left_out"]]

    def compared() -> Import:
        types = Types(room.library, dict(room.stage.state.profiles), inside, useless, {})
        rows, wrong, more = rows_of((unit_from(each) for each in last["units"]), types)
        problems = [*(FileProblem(**each) for each in last["problems"]), *wrong]
        read = _compared(room, Sheet(rows, problems), how, (*left_out, *more), types.new)
        by_sha = {p.source.sha256: files[spec] for spec, p in inside.items() if p.source}
        sources = {key: by_sha[p.source.sha256] for key, p in types.new.items() if p.source}
        return replace(read, files=sources)

    return await run_in_threadpool(compared)


def _compared(
    room: Room,
    sheet: Sheet,
    how: How,
    left_out: Sequence[FileProblem] = (),
    new: Mapping[str, Profile] | None = None,
) -> Import:
    # One look each, in one step: another phone may change the patch while a long file is read in a thread.
    fixtures, profiles = tuple(room.stage.state.fixtures.values()), dict(room.stage.state.profiles)
    found = changes(sheet.rows, fixtures, lambda: uuid.uuid4().hex[:8], how.keep)
    known = ChainMap(profiles, dict(new or {}), cast("dict[str, Profile]", room.library))
    used = {f.profile for f in (*fixtures, *found.added, *found.changed)}
    at_hand = {key: known[key] for key in used if key in known}  # each read once, not once a fixture
    rules = room.stage.rules
    wrong, warnings = findings_in(found, fixtures, at_hand, rules.off_limits, rules.reserved, how.even_so)
    there = {f.id: f for f in fixtures}
    return Import(
        found,
        (*sheet.problems, *wrong),
        how,
        tuple(there[f.id] for f in found.changed),
        tuple(warnings),
        sheet.columns,
        tuple(left_out),
        new or {},
    )


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
    none of the fields.
    """
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    named = [each.partition(":") for each in column]
    how = How(keep, even_so, {heading: name for name, _, heading in named})
    with tempfile.TemporaryDirectory(prefix="focuscall-") as place:
        folder = Path(place)
        path = (await spooled(request, LONGEST_FILE, folder))[0][1]
        with path.open("rb") as file:
            is_drawing = file.read(2) == ZIP
        if is_drawing:
            read = await _drawn(room, path, folder, how)
        else:
            read = await run_in_threadpool(lambda: read_in(room, path.read_bytes()[: TABLE_MOST + 1], how))
        if check:
            return read.report()
        if read.problems and not (leave_out and (read.found.added or read.found.changed)):
            raise Problem(422, _not_changed(read.problems), **read.report())
        done = await room.do(read.command(room, asker.id))
        if isinstance(done, Refused):
            raise Problem(422, Said("Nothing was changed. {why}", why=done.why), **read.report())
        for profile in read.new.values():
            room.library = room.library.with_added(profile)
        await run_in_threadpool(_keep, room.stock.folder, read)
    return read.report()


def _keep(folder: Path, read: Import) -> None:
    """The makers' files, for other shows; this one has its copy, so a full disk is no reason to refuse it."""
    for key, file in read.files.items():
        with contextlib.suppress(OSError):
            data = file.read_bytes()
            (folder / place_for(read.new[key].name, data)).write_bytes(data)


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
