"""What the rounds of the rig check brought, the newest first, and as a table."""

from datetime import datetime
from typing import Any

from fastapi import APIRouter, Response

from server.api.check_view import round_view, verdict_view
from server.api.people import Asker, RoomOf
from server.api.problems import Problem
from server.api.room import Room
from server.paperwork.check_csv import write_round
from server.rig.said import Said
from server.stage.found import Verdict
from server.stage.state import Person

__all__ = ["router"]

router = APIRouter(prefix="/api/check", tags=["rig check"])


@router.get("/rounds")
async def rounds(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """Every round that is kept, the one that goes on first."""
    return [round_view(room.stage.state, number) for number in sorted(room.stage.state.rounds, reverse=True)]


@router.get("/rounds/{number}")
async def one_round(number: int, asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """What was seen in a round, in the order it was seen; house staff only of house fixtures."""
    return [dict(verdict_view(fixture, verdict)) for fixture, verdict in _seen(room, asker, number)]


@router.get("/rounds/{number}/table.csv")
async def table(number: int, asker: Asker, room: RoomOf) -> Response:
    """The same as a table."""
    text = write_round((_date(verdict.at), verdict) for _, verdict in _seen(room, asker, number))
    headers = {"Content-Disposition": f'attachment; filename="rig-check-{number}.csv"'}
    return Response(text.encode("utf-8-sig"), media_type="text/csv; charset=utf-8", headers=headers)


def _seen(room: Room, asker: Person, number: int) -> list[tuple[str, Verdict]]:
    state = room.stage.state
    if number not in state.rounds:
        raise Problem(404, Said("There is no such rig check any more."))
    found = sorted(state.verdicts.get(number, {}).items(), key=lambda one: one[1].at)
    if asker.role != "house":
        return found
    return [(f, verdict) for f, verdict in found if f in state.fixtures and state.fixtures[f].house]


def _date(at: float) -> str:
    return datetime.fromtimestamp(at).astimezone().isoformat(" ", "seconds")
