"""The slots of a universe as they leave, and the server's own health."""

import time
from typing import Any

import numpy as np
from fastapi import APIRouter

from server import __version__
from server.api.people import Asker, RoomOf
from server.api.problems import Problem
from server.api.room import Room
from server.api.sources import heard_on
from server.api.view import said_view
from server.rig.compiled import Compiled
from server.rig.said import Said
from server.rig.universe import port_address_said
from server.stage.state import State

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["universes"])


@router.get("/health")
async def health(room: RoomOf) -> dict[str, Any]:
    """Whether it runs and for how long, phones, the interface in use, and how fast each universe leaves."""
    rig, frame = room.engine.rig, room.engine.frame
    in_use = (frame > 0).sum(axis=1).tolist()
    return {
        "status": "ok" if room.engine.trouble is None and room.laptop.is_there else "troubled",
        "version": __version__,
        "uptime_s": round(time.monotonic() - room.started, 1),
        "phones": len(room.hub.phones),
        "interface": room.laptop.interface,
        "interface_is_there": room.laptop.is_there,
        **room.laptop.view(),
        "universes": [
            {"universe": u, "frames_per_s": room.frames_per_s.get(u, 0.0), "slots_in_use": used}
            for u, used in zip(rig.universes, in_use, strict=True)
        ],
    }


@router.get("/universes/{universe}")
async def slots(universe: int, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """512 levels as they leave; for each slot what set it; and which slots belong to which fixture."""
    rig = room.engine.rig
    index = rig.universe_index(universe)
    if index is None:
        raise Problem(404, Said("Nothing is patched or set on universe {universe}.", universe=universe))
    port = next(iter(room.routing().port_addresses((universe,), room.stage.state.routes)), None)
    return {
        "universe": universe,
        "frames_per_s": room.frames_per_s.get(universe, 0.0),
        "artnet": None if port is None else {"port_address": port, **said_view(port_address_said(port))},
        "heard": heard_on(room, universe, time.monotonic()),
        "slots": room.engine.frame[index].tolist(),
        "set_by": _set_by(room, universe, index),
        "owners": _owners(room, index),
    }


def _set_by(room: Room, universe: int, index: int) -> list[str]:
    """Per slot: a person's name, "look", "home", "guard", "off limits", or "" where nobody asks.

    "console NAME" where it is passed through, with ", held" where that console is not heard any more.
    """
    state, rig = room.stage.state, room.engine.rig
    owned = rig.owned[index]
    said = {row: _row_by(state, rig, row) for row in set(owned.tolist()) if row >= 0}
    by_slot = [said.get(row, "") for row in owned.tolist()]
    _name_console(room, universe, by_slot)
    for slot, level in state.slots.get(universe, {}).items():
        if owned[slot - 1] < 0:
            by_slot[slot - 1] = _name(state, level.person)
    for limit in room.stage.rules.off_limits:
        if limit.universe == universe:
            by_slot[limit.first - 1 : limit.last] = ["off limits"] * (limit.last - limit.first + 1)
    return by_slot


def _name_console(room: Room, universe: int, by_slot: list[str]) -> None:
    followed = next((one for one in room.engine.following if one.universe == universe), None)
    if followed is None:
        return
    shown = room.sources.shown(universe, time.monotonic()) if followed.standing == "live" else None
    names = [source.name or source.address for source in shown.sources] if shown else []
    last = f"console {', '.join(followed.names)}".strip() + ", held"
    for slot in np.flatnonzero(room.engine.through(universe)).tolist():
        driver = shown.drivers[slot] if shown else -1
        by_slot[slot] = f"console {names[driver]}" if driver >= 0 else "" if shown else last


def _row_by(state: State, rig: Compiled, row: int) -> str:
    fixture, key = rig.names[row]
    if rig.guarded[row]:
        return "guard"
    if key in state.hand.get(fixture, {}):
        return _name(state, state.holders.get(fixture, ""))
    baseline = state.looks.get(state.baseline or "")
    if key in state.recalled.get(fixture, {}) or (baseline and key in baseline.values.get(fixture, {})):
        return "look"
    return "home"


def _name(state: State, person: str) -> str:
    known = state.people.get(person)
    return known.name if known else "somebody who left"


def _owners(room: Room, index: int) -> list[dict[str, Any]]:
    rig, state = room.engine.rig, room.stage.state
    universe = rig.universes[index]
    return [
        {"fixture": f.id, "channel": f.channel, "first": span.first, "last": span.last}
        for f, _, span in state.spans(universe)
    ]
