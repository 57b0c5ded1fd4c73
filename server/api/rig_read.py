"""A rig file read against the rig as it is: what it would change, and everything that is wrong with it."""

import contextlib
import uuid
from collections import ChainMap
from collections.abc import Mapping, Sequence
from contextlib import aclosing
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, cast

from starlette.concurrency import run_in_threadpool

from server.api.fixtures import profiles_for
from server.api.room import Room
from server.api.view import patch_view, said_view
from server.paperwork.apart import ReadingFailed, answers
from server.paperwork.changes import Changes, changes, findings_in
from server.paperwork.csv import Sheet, read_sheet
from server.paperwork.drawn import Types, rows_of, unit_from
from server.paperwork.problems import Problem as FileProblem
from server.paperwork.profiles import profile_from_json
from server.paperwork.read_profile import ZIP
from server.paperwork.reader import place_for
from server.paperwork.rig_json import is_json, read_rig_json
from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.commands import ChangePatch

__all__ = ["How", "Import", "add_to_library", "read_file"]

TABLE_MOST = 32 * 1024 * 1024
LEFT_OUT_MOST = 1000


@dataclass(frozen=True, slots=True)
class How:
    """How a file is meant. keep: what it does not name stays. even_so: two units of one number are wanted.

    leave_out: what has no problem is taken in without the rest. by_hand: fields by heading, for a table.
    """

    keep: bool = False
    even_so: bool = False
    leave_out: bool = False
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

    def report(self, change: int | None = None) -> dict[str, Any]:
        """As the import call answers. change: the number of the change that it was."""
        return {
            "added": [patch_view(f) for f in self._fit(self.found.added)],
            "changed": [patch_view(f) for f in self._fit(self.found.changed)],
            "before": [patch_view(f) for f in self._fit(self.before)],
            "removed": [patch_view(f) for f in self.found.removed],
            "stays": [patch_view(f) for f in self._stays()],
            "unsure": self.found.unsure,
            "change": change,
            "problems": [_problem_view(p) for p in self.problems],
            "warnings": [_problem_view(p) for p in self.warnings],
            "columns": dict(self.columns),
            "left_out": [{"where": p.where, "why": p.why} for p in self.left_out[:LEFT_OUT_MOST]],
        }

    @property
    def fits(self) -> bool:
        """Whether anything that the file names can be as it says."""
        wrong = {problem.where for problem in self.problems}
        return any(place not in wrong for place in self.found.places.values())

    def _stays(self) -> list[Fixture]:
        """The known ones that are left as they are, whatever the file says of them."""
        fit = {f.id for f in self._fit(self.found.changed)}
        return [*self.found.stays, *(f for f in self.before if f.id not in fit)]

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


def _read_in(room: Room, data: bytes, how: How) -> Import:
    """A table, or a file of ours."""
    if is_json(data):
        known = ChainMap(dict(room.stage.state.profiles), cast("dict[str, Profile]", room.library))
        return _compared(room, read_rig_json(data, known), how)
    return _compared(room, read_sheet(data, room.library, how.by_hand), how)


async def read_file(room: Room, path: Path, folder: Path, how: How = AS_IT_IS) -> Import:
    """Read a rig file of any kind, by what is in it, against the rig as it is. Nothing is changed.

    folder: where fixture files that it brings may be put meanwhile.
    """
    with path.open("rb") as file:
        is_drawing = file.read(2) == ZIP
    if is_drawing:
        return await _drawn(room, path, folder, how)
    return await run_in_threadpool(lambda: _read_in(room, _begin_of(path), how))


def _begin_of(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(TABLE_MOST + 1)


async def _drawn(room: Room, path: Path, folder: Path, how: How) -> Import:
    """A drawing (MVR), read in a process of its own."""
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
        sheet, more = rows_of((unit_from(each) for each in last["units"]), types)
        sheet.problems[:0] = [FileProblem(**each) for each in last["problems"]]
        read = _compared(room, sheet, how, (*left_out, *more), types.new)
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
    keep = how.keep or (not sheet.rows and bool(sheet.problems))  # what cannot be read at all names nobody
    found = changes(sheet.rows, fixtures, lambda: uuid.uuid4().hex[:8], keep, sheet.unread)
    known = ChainMap(profiles, dict(new or {}), cast("dict[str, Profile]", room.library))
    used = {f.profile for f in (*fixtures, *found.added, *found.changed)}
    at_hand = {key: known[key] for key in used if key in known}  # each read once, not once a fixture
    rules = room.stage.rules
    wrong, warnings = findings_in(
        found, fixtures, at_hand, rules.off_limits, rules.reserved, how.even_so, how.leave_out
    )
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


async def add_to_library(room: Room, read: Import) -> None:
    """The types that came with the file, for other shows too; this one has its copy."""
    for profile in read.new.values():
        room.library = room.library.with_added(profile)
    await run_in_threadpool(_keep, room.stock.folder, read)


def _keep(folder: Path, read: Import) -> None:
    """The makers' files; a full disk is no reason to refuse what has been done."""
    for key, file in read.files.items():
        with contextlib.suppress(OSError):
            data = file.read_bytes()
            (folder / place_for(read.new[key].name, data)).write_bytes(data)
