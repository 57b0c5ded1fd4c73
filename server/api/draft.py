"""Drawing up a profile, over HTTP: from a pasted chart, checked while it is edited, tried on a fixture."""

import json
from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.uploads import body_or_file
from server.paperwork.chart import CHART_MOST, draft_of
from server.paperwork.problems import FileError
from server.paperwork.problems import Problem as FileProblem
from server.paperwork.profiles import profile_from_json
from server.paperwork.unguarded import unguarded
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.commands import ChangePatch
from server.stage.decide import allow
from server.stage.holds import Refused

__all__ = ["LONGEST_DRAFT", "router"]

LONGEST_DRAFT = 4 * 1024 * 1024  # octets; the largest profile that comes with this is a tenth of it

router = APIRouter(prefix="/api/profiles", tags=["profiles"])


class Chart(BaseModel):
    """Text as it was copied from a manual or a spreadsheet."""

    model_config = ConfigDict(extra="forbid", strict=True)

    chart: Annotated[str, Field(max_length=CHART_MOST)]
    name: Annotated[str, Field(max_length=80)] = ""
    maker: Annotated[str, Field(max_length=80)] = ""


@router.post("/draft")
async def draft(wanted: Chart, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """A draft of a profile from a slot chart, and by line what is not in it. Nothing is kept."""
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    made, report = await run_in_threadpool(draft_of, wanted.chart, wanted.name, wanted.maker)
    found = await run_in_threadpool(_problems, json.dumps(made)) if made else []
    return {"profile": made, "report": _shown(report), "problems": _shown(found)}


@router.post("/check")
async def check(request: Request, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """All that is wrong with a profile as it is edited, JSON as the body. Nothing is kept."""
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    data = await body_or_file(request, LONGEST_DRAFT)
    return {"problems": _shown(await run_in_threadpool(_problems, data))}


@router.post("/try")
async def try_out(
    request: Request, asker: Asker, room: RoomOf, fixture: str = "", mode: str = ""
) -> dict[str, Any]:
    """Let a patched fixture be of this draft, by the rules of the patch: one change, undone like any other.

    The draft goes into the show under a key of its own and is in no list. Answers what the fixture was.
    """
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    data = await body_or_file(request, LONGEST_DRAFT)
    try:
        profile = await run_in_threadpool(_read, data)
    except FileError as wrong:
        why = Said("The profile cannot be used: {why}", why=str(wrong.problems[0]))
        raise Problem(422, why, problems=_shown(list(wrong.problems))) from None
    state = room.stage.state
    before = state.fixtures.get(fixture)
    if before is None:
        raise Problem(404, Said("There is no such fixture any more."))
    used = {unit.profile for unit in state.fixtures.values()}
    key = next(k for number in range(1, len(used) + 2) if (k := f"trying-{number}") not in used)
    after = replace(before, profile=key, mode=mode)
    done = await room.do(ChangePatch(asker.id, (after,), (), (replace(profile, key=key),)))
    if isinstance(done, Refused):
        raise refusal(done)
    return {"profile": key, "mode": mode, "was": {"profile": before.profile, "mode": before.mode}}


def _read(data: bytes) -> Profile:
    profile = profile_from_json(data)
    if found := unguarded(profile):
        raise FileError(found)
    return profile


def _problems(data: bytes | str) -> list[FileProblem]:
    try:
        return unguarded(profile_from_json(data))
    except FileError as wrong:
        return list(wrong.problems)


def _shown(problems: list[FileProblem]) -> list[dict[str, str]]:
    return [{"where": problem.where, "why": problem.why} for problem in problems]
