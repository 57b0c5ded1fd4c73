"""Universes that a console drives, too, over HTTP: who is there, what we do, and what each way would do."""

import time
from dataclasses import replace
from math import inf
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict

from server.api.giving_back import give_back, loan_view
from server.api.move_view import said_move
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.sources import heard_ahead, heard_on
from server.api.view import said_view, shared_view
from server.beside.crowd import crowd
from server.beside.effects import NODES, beside, effect, takes
from server.beside.joining import Standing
from server.beside.rank import rank_of
from server.beside.staying import staying
from server.beside.terms import leaving
from server.rig.said import Said
from server.rig.universe import UNIVERSE_LAST
from server.stage.decide import allow
from server.stage.holds import Refused
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
        "ipv6": room.hears_ipv6(),
        "universes": [
            _view(room, number, standing, now, ways=number == universe)
            for number, standing in room.joining.all().items()
        ],
    }


class Leave(BaseModel):
    """held: the button was held through the caution about what others hold and about people aloft."""

    model_config = ConfigDict(extra="forbid", strict=True)
    held: bool = False


@router.post("/beside/{universe}/leave")
async def leave(universe: int, given: Leave, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Give a universe back to the console that drives it, too, and send nothing there any more; a report.

    It answers once all fades are over and each slot has been compared.
    """
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    if universe not in room.joining.all():
        raise Problem(404, Said("Nothing is patched or set on universe {universe}.", universe=universe))
    report = await give_back(room, asker.id, universe, given.held)
    if isinstance(report, Refused):
        raise refusal(report)
    return report


def _view(room: Room, universe: int, standing: Standing, now: float, *, ways: bool) -> dict[str, Any]:
    decided, done = room.stage.state.shared.get(universe), standing.leaving
    join = done.join if standing.where == "joined" else None
    terms, loans = standing.terms, room.borrowed.loans(universe) if ways else ()
    theirs = room.sources.levels(universe, now) if loans else None
    usual = room.sacn_priority(universe) if terms.sacn else None
    listens = standing.where == "listening" and standing.until < inf
    left = max(0.0, standing.until - now) if listens else 0.0
    return {
        "universe": universe,
        "where": standing.where,
        "left_s": round(min(left, room.settings.listen_s), 1),
        "decided": shared_view(decided) if decided else None,
        "join": join,
        "priority": usual if usual is None or terms.priority is None else terms.priority,
        "outrank": done.outrank if standing.where == "joined" else None,
        "artnet": terms.artnet,
        "trouble": said_view(done.why) if done.why and standing.rank.here else None,
        "move": _move(room, universe),
        "crowd": _crowd(room, universe, now),
        "heard": [*heard_on(room, universe, now), *heard_ahead(room, universe, now)],
        "ways": [_way(room, universe, standing, join, now) for join in JOINS] if ways else [],
        "borrowed": [loan_view(room, one, theirs, now) for one in loans],
        "stays": [said_view(one) for one in staying(room.stage.state, universe, join)] if ways else [],
        "returned": room.borrowed.returned.get(universe, 0),
        "given_back": room.given_back.get(universe) if ways else None,
    }


def _move(room: Room, universe: int) -> dict[str, Any] | None:
    move, told = room.moving.moves.get(universe), said_move(room, universe)
    return {"where": move.where, "agreed": move.agreed, **said_view(told)} if move and told else None


def _crowd(room: Room, universe: int, now: float) -> dict[str, Any] | None:
    told = crowd(room.sources, room.ahead, universe, now) if universe in room.moving.moves else None
    return said_view(told) if told else None


def _way(room: Room, universe: int, standing: Standing, join: Join, now: float) -> dict[str, Any]:
    limit = next((one for one in room.stage.rules.off_limits if one.universe == universe), None)
    usual = room.sacn_priority(universe)
    own = room.joining.own(universe)
    live = [*room.sources.live(universe, now), *room.ahead.live(universe, now)]
    rank = rank_of(live, standing.rank, now) if room.ahead.live(universe, now) else standing.rank
    done = leaving(universe, Shared(join, join in FOLLOWING), rank, own, limit)
    if usual is None:  # it has no output by sACN
        done = replace(done, terms=replace(done.terms, sacn=False))
    others = beside(live, now)
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
