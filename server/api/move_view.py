"""Universes on their way to numbers that are new to them, as the calls tell of them."""

import time

from server.api.room import Room
from server.beside.told import NAMES, moved
from server.rig.said import Said
from server.stage.outputs import NO_ROUTE, Route

__all__ = ["said_move", "said_new"]


def said_move(room: Room, universe: int) -> Said | None:
    """That a universe is on its way, and what it waits for; None: it is not."""
    if (move := room.moving.moves.get(universe)) is None:
        return None
    now, began = time.monotonic(), time.time() - time.monotonic()
    return moved(universe, move, now, lambda at: time.strftime("%H:%M:%S", time.localtime(began + at)))


def said_new(room: Room, universe: int, route: Route | None) -> Said | None:
    """That this route has numbers which are listened to first; None: it has not."""
    routing, wanted = room.routing(), {universe: route or NO_ROUTE}
    new = routing.ears(universe, wanted) - routing.ears(universe, room.moving.routes)
    if not new or not room.settings.listen_s or not room.joining.sends(universe):
        return None
    return Said(
        "{numbers} is new for this universe: it is listened to for {seconds} s first, and until then all of "
        "it goes on as before.",
        numbers=", ".join(f"{NAMES[by]} {number}" for by, number, _ in sorted(new)),
        seconds=round(room.settings.listen_s, 1)
        if room.settings.listen_s % 1
        else int(room.settings.listen_s),
    )
