"""Universes that a console drives, too, over HTTP: who is there, what we do, and what each way would do."""

import time
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Query

from server.api.people import Asker, RoomOf
from server.api.problems import refusal
from server.api.room import Room
from server.api.sources import heard_on
from server.api.view import said_view
from server.beside.effects import NODES, beside, effect, takes
from server.beside.joining import Standing
from server.beside.terms import leaving
from server.rig.universe import UNIVERSE_LAST
from server.stage.decide import allow
from server.stage.shared import FOLLOWING, JOINS, Join, Shared

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["sources"])


@router.get("/beside")
async def universes(
    asker: Asker, room: RoomOf, universe: Annotated[int | None, Query(ge=1, le=UNIVERSE_LAST)] = None
) -> dict[str, Any]:
    """How each universe stands beside consoles; `universe`: with what each way to join would do there."""
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    now = time.monotonic()
    return {
        "listen_s": room.settings.listen_s,
        "universes": [
            _view(room, number, standing, now, ways=number == universe)
            for number, standing in room.joining.all().items()
        ],
    }


def _view(room: Room, universe: int, standing: Standing, now: float, *, ways: bool) -> dict[str, Any]:
    decided, done = room.stage.state.shared.get(universe), standing.leaving
    terms = standing.terms
    usual = room.sacn_priority(universe) if terms.sacn else None
    left = max(0.0, standing.until - now) if standing.where == "listening" else 0.0
    return {
        "universe": universe,
        "where": standing.where,
        "left_s": round(min(left, room.settings.listen_s), 1),
        "decided": asdict(decided) if decided else None,
        "join": done.join if standing.where == "joined" else None,
        "priority": usual if usual is None or terms.priority is None else terms.priority,
        "outrank": done.outrank if standing.where == "joined" else None,
        "artnet": terms.artnet,
        "trouble": said_view(done.why) if done.why and standing.rank.here else None,
        "heard": heard_on(room, universe, now),
        "ways": [_way(room, universe, standing, join, now) for join in JOINS] if ways else [],
    }


def _way(room: Room, universe: int, standing: Standing, join: Join, now: float) -> dict[str, Any]:
    limits, own = room.stage.rules.off_limits, room.settings.priority
    limit = next((one for one in limits if one.universe == universe), None)
    done = leaving(universe, Shared(join, join in FOLLOWING), standing.rank, own, limit)
    others = beside(room.sources.live(universe, now), now)
    held = join == "alone" and takes(done, others, own)

    def nodes(follows: bool) -> list[dict[str, Any]]:
        return [{"node": node, **said_view(effect(node, done, others, own, follows))} for node in NODES]

    return {
        "join": join,
        "possible": join != "above" or limit is None,
        "follows": join in FOLLOWING,
        "held": held or (join == "off" and bool(room.stage.state.aloft)),
        "trouble": said_view(done.why) if done.why else None,
        "nodes": nodes(join in FOLLOWING),
        "following": nodes(follows=True),
    }
