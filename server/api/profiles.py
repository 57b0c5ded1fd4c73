"""The profile library, over HTTP."""

from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.uploads import body_or_file
from server.paperwork.gdtf import read_gdtf
from server.paperwork.problems import FileError
from server.paperwork.problems import Problem as FileProblem
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.commands import AddProfile
from server.stage.holds import Refused

__all__ = ["router"]

LONGEST_FILE = 32 * 1024 * 1024  # gdtf files seen are a tenth of it

router = APIRouter(prefix="/api", tags=["profiles"])


@router.get("/profiles")
async def search(asker: Asker, room: RoomOf, q: str = "") -> list[dict[str, Any]]:
    """Profiles in which every word of `q` occurs, best first; all of them without one."""
    return [_short(profile) for profile in room.library.search(q)]


@router.get("/profiles/{key}")
async def one(key: str, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """A profile whole: the show's own copy where it has one."""
    profile = room.stage.state.profiles.get(key) or room.library.get(key)
    if profile is None:
        raise Problem(404, Said('There is no profile "{key}".', key=key))
    return profile_to_json(profile)


@router.post("/profiles", status_code=201)
async def add(request: Request, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Add a profile, JSON or .gdtf, as the body or the form field `file`; problems: what was left out."""
    data = await body_or_file(request, LONGEST_FILE)
    profile, problems = await run_in_threadpool(_read, data)
    done = await room.do(AddProfile(asker.id, profile))
    if isinstance(done, Refused):
        raise refusal(done)
    room.library = room.library.with_added(profile)
    return {**_short(profile), "problems": _shown(problems)}


def _read(data: bytes) -> tuple[Profile, list[FileProblem]]:
    if data[:2] == b"PK":  # a .gdtf file is a zip archive
        profile, problems = read_gdtf(data)
        if profile is not None:
            return profile, problems
    else:
        try:
            return profile_from_json(data), []
        except FileError as wrong:
            problems = list(wrong.problems)
    why = Said("The profile cannot be used: {why}", why=str(problems[0]))
    raise Problem(422, why, problems=_shown(problems))


def _shown(problems: list[FileProblem]) -> list[dict[str, str]]:
    return [{"where": problem.where, "why": problem.why} for problem in problems]


def _short(profile: Profile) -> dict[str, Any]:
    return {
        "key": profile.key,
        "name": profile.name,
        "maker": profile.maker,
        "kind": profile.kind,
        "modes": [{"name": mode.name, "footprint": mode.footprint} for mode in profile.modes],
    }
