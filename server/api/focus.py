"""The focus call over HTTP: its list, how each unit was focused, the lead's settings for it."""

from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.view import call_view, focus_view
from server.rig.said import Said
from server.stage import commands
from server.stage.focus import Focus
from server.stage.holds import Refused
from server.stage.state import State
from server.stage.turn import mark_of

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["focus"])


class CallChange(BaseModel):
    """Some of the lead's settings for the focus call; stage.focus.Call has what they mean."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    level: float | None = None
    fade_s: float | None = None
    beside: Annotated[str, Field(max_length=20)] | None = None
    beside_level: float | None = None


@router.get("/focus")
async def focus_list(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """The focus list in its order: each unit, how far it is, and who is at it."""
    state = room.stage.state
    return [_row(state, fixture) for fixture in state.order]


@router.get("/focus/{fixture}")
async def focus_of(fixture: str, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """One unit, on the list or not, with the values it had when it was done."""
    state = room.stage.state
    if fixture not in state.fixtures:
        raise Problem(404, Said("There is no such fixture any more."))
    mode, kept = state.mode(fixture), state.focus.get(fixture, Focus()).values
    known = {c.key for c in mode.controls} if mode else set()
    values = {key: {"raw": raw} for key, raw in kept.items() if key in known}
    return {**_row(state, fixture), "values": values}


@router.patch("/focus")
async def change_call(wanted: CallChange, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Change the lead's settings for the focus call."""
    done = await room.do(commands.ChangeCall(asker.id, wanted.model_dump(exclude_none=True)))
    if isinstance(done, Refused):
        raise refusal(done)
    return call_view(room.stage.state)


def _row(state: State, fixture: str) -> dict[str, Any]:
    """As `FocusRow` says."""
    unit = state.fixtures[fixture]
    where = {name: getattr(unit, name) for name in ("channel", "position", "unit", "purpose")}
    nothing: dict[str, Any] = {"given": None, "by": "", "at": 0.0, "note": {}, "kept": False}
    known = focus_view(state, fixture) or {}
    who = [person for person, at in state.now.items() if at == fixture]
    return {"fixture": fixture, **where, **nothing, **known, "mark": mark_of(state, fixture), "now": who}
