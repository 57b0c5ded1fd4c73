"""What has been taught of a fixture, as a profile: a draft to look at, to keep, and to edit."""

import re
from typing import Annotated, Any

from fastapi import APIRouter, Query
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.paperwork.taught import drafted
from server.rig.said import Said
from server.rig.teaching import teach
from server.stage.decide import allow
from server.stage.teaching import Teaching

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["profiles"])


@router.get("/teach/draft")
async def draft(
    asker: Asker, room: RoomOf, name: Annotated[str, Query(min_length=1, max_length=60)] = "Taught fixture"
) -> dict[str, Any]:
    """The profile of what is known so far, as GET /api/profiles/{key} answers one. Nothing is kept by that.

    What nobody has seen anything of is guarded in it and stays at 0.
    """
    state = room.stage.state
    if refused := allow(state, asker.id, "lead", "crew"):
        raise refusal(refused)
    if state.teaching is None:
        raise Problem(404, Said("Nobody teaches a fixture."))
    return await run_in_threadpool(_drafted, state.teaching, " ".join(name.split()) or "Taught fixture")


def _drafted(teaching: Teaching, name: str) -> dict[str, Any]:
    _, taught = teach(teaching.slots, teaching.answers)
    if taught.flame:
        raise Problem(
            422, Said("What makes flame is never driven from here. Put its slots off limits in the settings.")
        )
    words = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "fixture"
    return profile_to_json(profile_from_json(drafted(taught, f"taught-{words[:40]}-{teaching.slots}", name)))
