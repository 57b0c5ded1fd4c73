"""The profile library, over HTTP."""

import contextlib
import tempfile
from collections import Counter
from contextlib import aclosing
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, ConfigDict
from starlette.concurrency import run_in_threadpool

from server.api.library import LONGEST_FILES, PROBLEMS_MOST, taken_in
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.uploads import spooled
from server.paperwork.apart import ReadingFailed, answers
from server.paperwork.library import SEARCH_MOST
from server.paperwork.listed import Listed, listed
from server.paperwork.problems import Problem as FileProblem
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.paperwork.read_profile import ZIP
from server.paperwork.reader import place_for
from server.rig.said import Said
from server.stage.commands import AddProfile, StarProfile
from server.stage.decide import allow
from server.stage.holds import Refused

__all__ = ["router"]


router = APIRouter(prefix="/api", tags=["profiles"])


@router.get("/profiles")
async def search(
    asker: Asker, room: RoomOf, q: str = "", most: Annotated[int, Query(ge=1, le=1000)] = SEARCH_MOST
) -> list[dict[str, Any]]:
    """Profiles in which every word of `q` occurs: starred, then those of this show, then best first.

    Without words all of them. Of the thousands on this laptop's shelf only the `most` best.
    """
    state = room.stage.state
    used = Counter(f.profile for f in reversed(state.fixtures.values()))
    stars = dict.fromkeys(state.stars)
    found = await run_in_threadpool(room.library.search, q, tuple(stars | used), most)
    return [_short(e) | {"starred": e.key in stars, "fixtures": used[e.key]} for e in found]


class Star(BaseModel):
    """Whether it has one."""

    model_config = ConfigDict(extra="forbid", strict=True)

    on: bool


@router.put("/profiles/{key}/star")
async def star(key: str, wanted: Star, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Star a profile, so that it comes first in every list of this show, or no longer."""
    if wanted.on and key not in room.stage.state.profiles and not await run_in_threadpool(_has, room, key):
        raise _unknown(key)
    done = await room.do(StarProfile(asker.id, key, wanted.on))
    if isinstance(done, Refused):
        raise refusal(done)
    return {"starred": key in room.stage.state.stars}


@router.get("/profiles/{key}")
async def one(key: str, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """A profile whole: the show's own copy where it has one."""
    profile = room.stage.state.profiles.get(key) or await run_in_threadpool(room.library.get, key)
    if profile is None:
        raise _unknown(key)
    return profile_to_json(profile)


def _has(room: Room, key: str) -> bool:
    return key in room.library


def _unknown(key: str) -> Problem:
    return Problem(404, Said('There is no profile "{key}".', key=key))


@router.post("/profiles", status_code=201)
async def add(request: Request, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Add profiles, JSON or .gdtf, as the body or in form fields `file`; problems: what was left out.

    One goes into this show and onto the shelf of this laptop. Several, or a zip that holds them, go onto the
    shelf; the show takes its own copy of each when it is used.
    """
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    with tempfile.TemporaryDirectory(prefix="focuscall-") as folder:
        files = await spooled(request, LONGEST_FILES, Path(folder))
        try:
            only = await _only(files[0][1]) if len(files) == 1 else {"many": True}
            if "many" in only:
                return await _many(room, files)
        except ReadingFailed as why:
            raise _useless(str(why), []) from why
        return await _one(room, asker.id, files[0], only)


async def _only(path: Path) -> dict[str, Any]:
    async with aclosing(answers({"do": "profile", "path": str(path)})) as given:
        async for answer in given:
            return answer
    raise ReadingFailed("The file cannot be read.")


async def _one(room: Room, person: str, file: tuple[str, Path], answer: dict[str, Any]) -> dict[str, Any]:
    problems = answer["problems"]
    if answer["profile"] is None:
        first = FileProblem(**problems[0])
        raise _useless(str(first), problems)
    profile = await run_in_threadpool(profile_from_json, answer["profile"])
    done = await room.do(AddProfile(person, profile))
    if isinstance(done, Refused):
        raise refusal(done)
    room.library = room.library.with_added(profile)
    await run_in_threadpool(_keep, room.stock.folder, profile.key, *file)
    return {**_short(listed(profile)), "problems": problems}


def _keep(folder: Path, key: str, name: str, file: Path) -> None:
    """For other shows; this one has it already, so a full disk is no reason to refuse it."""
    with contextlib.suppress(OSError):
        data = file.read_bytes()
        # One of our own that was changed takes the place of what it was: its key is a file's name, too.
        place = place_for(name, data) if data[:2] == ZIP else f"{key}.json"
        (folder / place).write_bytes(data)


async def _many(room: Room, files: list[tuple[str, Path]]) -> dict[str, Any]:
    keys: dict[str, None] = {}
    problems: list[dict[str, str]] = []
    failed = 0
    async with aclosing(taken_in(room, files)) as given:
        async for answer in given:
            if "archive" not in answer:
                failed += answer["key"] is None
                keys |= {answer["key"]: None} if answer["key"] is not None else {}
                left_out = (FileProblem(**each) for each in answer["problems"])
                problems += [{"where": answer["name"], "why": str(each)} for each in left_out]
    return {"added": len(keys), "failed": failed, "keys": list(keys), "problems": problems[:PROBLEMS_MOST]}


def _useless(first: str, problems: list[dict[str, str]]) -> Problem:
    why = Said("The profile cannot be used: {why}", why=first)
    return Problem(422, why, problems=problems or [{"where": "", "why": first}])


def _short(each: Listed) -> dict[str, Any]:
    return {
        "key": each.key,
        "name": each.name,
        "maker": each.maker,
        "kind": each.kind,
        "revised": each.revised,
        "modes": [{"name": name, "footprint": slots} for name, slots in each.modes],
    }
