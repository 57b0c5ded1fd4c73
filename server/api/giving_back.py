"""Gives a universe back to the console: lets go, waits for the fades, compares, ends it, and reports."""

import asyncio
import time
from typing import Any

import numpy as np

from server.api.room import Room
from server.beside.borrowed import Loan
from server.beside.staying import DIMMED, dims
from server.hearing.source import Octets
from server.hearing.sources import Sources
from server.rig.said import Said
from server.stage.commands_shared import ClearUniverse, GiveBack
from server.stage.holds import Refused
from server.stage.near import SLOW_S
from server.stage.shared import Join
from server.stage.state import State

__all__ = ["give_back", "loan_view"]

_LOOK_S = 0.02
_LATE_S = 1.0  # so long a slot must have been another before it is told as not back


async def give_back(room: Room, person: str, universe: int, held: bool) -> dict[str, Any] | Refused:
    """The report, as `GivenBack` says, once nothing of ours is sent there any more."""
    now = time.monotonic()
    names = room.sources.names(universe, now)
    if not names:
        return Refused(
            Said(
                "Nobody else is heard on universe {universe}: as far as is known here, nothing would be left "
                "to light it. Choose Off if that is meant.",
                universe=universe,
            )
        )
    loans = room.borrowed.loans(universe)
    cleared = await room.do(ClearUniverse(person, universe, held))
    if isinstance(cleared, Refused):
        return cleared
    standing = room.joining.all().get(universe)
    sent = standing is not None and (standing.terms.sacn or standing.terms.artnet)
    differs = await _differing(room, universe) if sent else np.zeros(512, np.bool_)
    if sent and not room.sources.names(universe, time.monotonic()):
        return Refused(
            Said(
                "{name} has gone before universe {universe} was given back: it goes on, with nothing of it "
                "in hand.",
                name=", ".join(names),
                universe=universe,
            )
        )
    join = standing.leaving.join if standing is not None else None
    late = [_late(room, loan, join) for loan in loans if differs[loan.slot - 1]]
    theirs = room.sources.levels(universe, time.monotonic())
    slots = [loan_view(room, loan, theirs, now) | {"is_back": not differs[loan.slot - 1]} for loan in loans]
    done = await room.do(
        GiveBack(person, universe, ", ".join(names), len(loans), len(loans) - len(late), int(differs.sum()))
    )
    if isinstance(done, Refused):
        return done
    for _ in range(round(_LATE_S / _LOOK_S)):  # terms are looked at ten times a second
        if not room.ours(universe).sent:
            break
        await asyncio.sleep(_LOOK_S)
    report = {
        "to": list(names),
        "at": time.time(),
        "compared": int(np.count_nonzero(~_pinned(room, universe))) if sent else 0,
        "differing": [int(at) + 1 for at in np.flatnonzero(differs)],
        "slots": slots,
        "why": late,
    }
    room.given_back[universe] = report
    return report


async def _differing(room: Room, universe: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """(512,) slots that have not been the console's, octet for octet, by the time that all fades are over."""
    state = room.stage.state
    slow_s = SLOW_S if state.aloft else 0.0  # beside them all goes slowly
    deadline = time.monotonic() + max(state.settings.let_go_s, slow_s) + 2 * _LATE_S
    differs = np.ones(512, np.bool_)
    while (now := time.monotonic()) < deadline:
        unlike = _unlike(room, universe, room.sources, now)
        if not unlike.any():
            return unlike
        if now > deadline - _LATE_S:  # a console in a fade is a frame ahead: each slot has its own moment
            differs &= unlike
            if not differs.any():
                return differs
        await asyncio.sleep(_LOOK_S)
    return differs


def _unlike(
    room: Room, universe: int, sources: Sources, now: float
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    levels, index = sources.levels(universe, now), room.engine.rig.universe_index(universe)
    if levels is None or index is None:
        return np.ones(512, np.bool_)
    return np.asarray((room.engine.frame[index] != levels) & ~_pinned(room, universe))


def _pinned(room: Room, universe: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    index = room.engine.rig.universe_index(universe)
    return np.zeros(512, np.bool_) if index is None else np.asarray(room.engine.rig.pinned[index])


def _late(room: Room, loan: Loan, join: Join | None) -> dict[str, Any]:
    why = _why(room.stage.state, loan, join)
    return {"slot": loan.slot, "why": why, "said": why.parts()}


def _why(state: State, loan: Loan, join: Join | None) -> Said:
    fixture = loan.fixture
    if fixture in state.out_of_use:
        return Said("It is out of use.")
    if fixture in state.still:
        return Said("It stays where it points, as somebody is aloft there.")
    if fixture in state.holders:
        return Said("Somebody has taken it again.")
    if fixture in state.recalled:
        return Said("A look has come up again.")
    if fixture in state.beside:
        return Said("It is lit beside the unit in focus.")
    if dims(state, join):
        return DIMMED
    return Said("It was still on its way.")


def loan_view(room: Room, loan: Loan, theirs: Octets | None, now: float) -> dict[str, Any]:
    """A borrowed slot as it is told. theirs: (512,) what the console sends. now: monotonic seconds."""
    unit = room.stage.state.fixtures.get(loan.fixture)
    return {
        "slot": loan.slot,
        "channel": unit.channel if unit else None,
        "by": loan.by,
        "since_s": round(now - loan.since, 1),
        "before": loan.before,
        "now": None if theirs is None else int(theirs[loan.slot - 1]),
    }
