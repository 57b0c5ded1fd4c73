"""Who answered instead: what may be wrong when another unit comes up than the one that was asked for."""

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.view import said_view
from server.rig.answered import Answer
from server.rig.explained import Explanation, Next, explain
from server.rig.mistakes import Mistake
from server.rig.said import Said
from server.stage.decide import allow

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["patch"])

MOST = 20  # answers: a handful tells most, and each one more costs time
Id = Annotated[str, Field(min_length=1, max_length=64)]


class Seen(BaseModel):
    """One unit was asked for, by id, and these came up: none, it, another, several."""

    model_config = ConfigDict(extra="forbid", strict=True)
    asked: Id
    lit: Annotated[list[Id], Field(max_length=MOST)]


class Answers(BaseModel):
    """What came up, one answer for each unit that was asked for."""

    model_config = ConfigDict(extra="forbid", strict=True)
    answers: Annotated[list[Seen], Field(min_length=1, max_length=MOST)]


@router.post("/explain")
async def explanations(given: Answers, asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """The fewest mistakes of address, mode or cable that explain these answers, the likeliest first.

    [] where all is as patched, and where no few mistakes explain it. Nothing is changed.
    """
    state = room.stage.state
    if refused := allow(state, asker.id, "lead", "crew"):
        raise refusal(refused)
    named = {unit for seen in given.answers for unit in (seen.asked, *seen.lit)}
    if any(state.mode(unit) is None for unit in named):
        raise Problem(422, Said("One of the chosen fixtures does not exist any more."))
    there, profiles = tuple(state.fixtures.values()), dict(state.profiles)
    answers = {seen.asked: Answer(seen.asked, frozenset(seen.lit)) for seen in given.answers}
    found = await run_in_threadpool(explain, there, profiles, tuple(answers.values()))
    return [_view(one) for one in found]


def _view(one: Explanation) -> dict[str, Any]:
    return {"mistakes": [_mistake(each) for each in one.mistakes], "check": one.check and _check(one.check)}


def _mistake(one: Mistake) -> dict[str, Any]:
    set_to = {
        unit: {"universe": f.universe, "address": f.address, "mode": f.mode} for unit, f in one.real.items()
    }
    return {"kind": one.kind, **said_view(one.words), "proof": said_view(one.proof), "fixtures": set_to}


def _check(check: Next) -> dict[str, Any]:
    return {"fixture": check.ask, "lit": sorted(check.lit)}
