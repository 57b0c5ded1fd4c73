"""What consoles show, as a look of ours: which fixtures it would hold, and their values."""

import time
from collections.abc import Iterable

import numpy as np

from server.api.room import Room
from server.hearing.merge import Shown
from server.rig.compiled import Compiled
from server.rig.levels import raw_in
from server.rig.universe import SLOTS
from server.stage.looks import keepable
from server.stage.state import State

__all__ = ["heard_here", "kept_of", "shown_values"]

Values = dict[str, dict[str, int]]


def heard_here(room: Room, universes: Iterable[int] | None = None) -> dict[int, Shown]:
    """What is shown on each universe of the show that somebody drives now; universes: only on these."""
    now, wanted = time.monotonic(), set(room.engine.rig.universes)
    if universes is not None:
        wanted &= set(universes)
    heard = {universe: room.sources.shown(universe, now) for universe in sorted(wanted)}
    return {universe: shown for universe, shown in heard.items() if shown is not None}


def kept_of(state: State, rig: Compiled, heard: dict[int, Shown]) -> Values:
    """What a look may hold of it, by fixture id and control key: by the rules of every other look."""
    kept = keepable(state, shown_values(rig, heard))
    return {fixture: values for fixture, values in kept.items() if values}


def shown_values(rig: Compiled, heard: dict[int, Shown]) -> Values:
    """Raw values of all controls that lie wholly in slots somebody drives, by fixture id and control key.

    A virtual intensity is full where a console drives all of its colours: then these say it all.
    """
    slots = np.zeros((len(rig.universes), SLOTS), np.uint8)
    driven = np.zeros((len(rig.universes), SLOTS), np.bool_)
    for universe, shown in heard.items():
        if (index := rig.universe_index(universe)) is not None:
            slots[index], driven[index] = shown.levels, shown.drivers >= 0
    raw, theirs = raw_in(rig, slots), np.zeros(len(rig.names), np.bool_)
    theirs[rig.slot_row] = True
    theirs[rig.slot_row[~driven.reshape(-1)[rig.slot_at]]] = False
    scaled = np.flatnonzero(rig.scaler >= 0)
    masters = np.setdiff1d(rig.scaler[scaled], rig.slot_row)
    whole = np.setdiff1d(masters, rig.scaler[scaled[~theirs[scaled]]])
    raw[whole], theirs[whole] = rig.maximum[whole], True
    values: Values = {}
    for row in np.flatnonzero(theirs).tolist():
        fixture, key = rig.names[row]
        values.setdefault(fixture, {})[key] = int(raw[row])
    return values
