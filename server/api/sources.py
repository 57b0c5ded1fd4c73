"""Who else sends on the universes of the show, over HTTP."""

import time
from collections import Counter
from typing import Any

from fastapi import APIRouter

from server.api.people import Asker, RoomOf
from server.api.room import Room
from server.api.view import said_view
from server.hearing.merge import Shown
from server.hearing.source import Source
from server.hearing.told import Ours, ended, highest, sentence, winner
from server.rig.said import Said

__all__ = ["heard_ahead", "heard_on", "router"]

router = APIRouter(prefix="/api", tags=["sources"])


@router.get("/sources")
async def sources(asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Every other source on each universe of ours, and who wins at a node that hears both."""
    now = time.monotonic()
    refused = room.sources.refused + (room.nodes.faults if room.nodes else Counter())
    return {
        "priority": room.sacn_priority(0),  # where a universe has no outputs of its own
        "universes": [
            {
                "universe": universe,
                "exceeded": room.sources.exceeded(universe, now),
                "sources": _sources(room, universe, now),
            }
            for universe in room.sources.universes()
        ],
        "refused": [
            {"address": address, "why": why, "count": count}
            for (address, why), count in refused.most_common()
        ],
        "own": room.sources.own,
    }


def heard_on(room: Room, universe: int, now: float) -> list[dict[str, Any]]:
    """Those that drive this universe now; now: monotonic seconds."""
    return [one for one in _sources(room, universe, now) if one["state"] == "live"]


def heard_ahead(room: Room, universe: int, now: float) -> list[dict[str, Any]]:
    """Those that drive numbers which it is still to go by."""
    ranks = Ours(None, sent=False), -1
    return [_view(one, universe, None, ranks, now) for one in room.ahead.live(universe, now)]


def _sources(room: Room, universe: int, now: float) -> list[dict[str, Any]]:
    shown = room.sources.shown(universe, now)
    ranks = room.ours(universe), highest(room.sources.live(universe, now))
    return [_view(one, universe, shown, ranks, now) for one in room.sources.all(universe)]


def _view(
    source: Source, universe: int, shown: Shown | None, ranks: tuple[Ours, int], now: float
) -> dict[str, Any]:
    """As it is told. ranks: how ours leaves, and the highest priority of all others.

    seen_s, since_s: seconds ago. slots: how many show its level. wins: null unless it drives.
    """
    live = source.state(now) == "live"
    told: Said = sentence(source, (universe,), *ranks, now) if live else ended(source, universe, now)
    return {
        "name": source.name or source.address,
        "protocol": source.protocol,
        "id": source.id,
        "number": source.number,
        "address": source.address,
        "priority": source.priority if source.protocol == "sacn" else None,
        "per_slot": source.each(now) is not None,
        "state": source.state(now),
        "frames_per_s": round(source.frames_per_s, 1),
        "seen_s": round(now - source.heard_at, 1),
        "since_s": round(now - source.since, 1),
        "late": source.late,
        "slots": shown.slots_of(source) if shown else 0,
        "wins": winner(source, *ranks, now) if live else None,
        **said_view(told),
    }
