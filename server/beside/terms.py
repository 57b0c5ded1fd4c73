"""On what terms a universe leaves beside a console, as the lead decided and as far as that can be done."""

from dataclasses import dataclass

from server.beside.rank import Rank
from server.engine.terms import SILENT, USUAL, Terms
from server.rig.said import Said
from server.rig.universe import OffLimits
from server.stage.shared import Join, Shared
from server.wire.e131 import MAX_PRIORITY

__all__ = ["NOTHING", "Leaving", "leaving"]

_LEAST_BESIDE_SLOTS = 1  # a packet priority of 0 is read as 100, or as 1, by who reads those of slots


@dataclass(frozen=True, slots=True)
class Leaving:
    """How a universe leaves. join: as it is done, which `why` explains where it is not as decided.

    outrank: the priority of each slot that is ours (START code 0xDD), where all others have that of the
    packets; None: no slot has one.
    """

    join: Join
    terms: Terms
    outrank: int | None = None
    why: Said | None = None


NOTHING = Leaving("off", SILENT)


def leaving(universe: int, shared: Shared, rank: Rank, own: int, limit: OffLimits | None) -> Leaving:
    """How that universe leaves. own: the sACN priority set here. limit: one of its ranges off limits."""
    match shared.join:
        case "alone" if limit is not None and rank.here and own > rank.lowest:
            # Our 0 on a slot that is off limits is a value of ours as soon as it ranks above the console's.
            why = Said(
                "Universe {universe} has slots that are off limits ({reason}): it leaves with the console's "
                "priority {priority}, so that those stay the console's.",
                universe=universe,
                reason=limit.why,
                priority=rank.lowest,
            )
            return Leaving("alone", Terms(priority=rank.lowest), None, why)
        case "alone":
            return Leaving("alone", USUAL)
        case "off":
            return NOTHING
        case "below":
            return _below(universe, rank, None)
        case "slots":
            return _slots(universe, rank, None)
        case "above" if limit is not None:
            # Decided before the limit was set: at our priority its slots would be taken from the console.
            why = Said(
                "Universe {universe} has slots that are off limits by now ({reason}): only slots in hand are "
                "above the console there.",
                universe=universe,
                reason=limit.why,
            )
            return _slots(universe, rank, why)
        case "above" if rank.highest >= MAX_PRIORITY:
            return _below(universe, rank, _topped(universe))
        case _:
            return Leaving("above", Terms(priority=max(own, rank.highest + 1)))


def _slots(universe: int, rank: Rank, why: Said | None) -> Leaving:
    if rank.highest >= MAX_PRIORITY:
        return _below(universe, rank, _topped(universe))
    if rank.lowest <= _LEAST_BESIDE_SLOTS:
        told = Said(
            "A console sends universe {universe} with priority {priority}: slots in hand cannot be above it "
            "while the rest stays below. Only silence is filled there.",
            universe=universe,
            priority=rank.lowest,
        )
        return _below(universe, rank, told)
    terms = Terms(artnet=not rank.here, priority=rank.lowest - 1, per_slot=True)
    return Leaving("slots", terms, rank.highest + 1, why)


def _below(universe: int, rank: Rank, why: Said | None) -> Leaving:
    if rank.lowest > 0:
        return Leaving("below", Terms(artnet=not rank.here, priority=rank.lowest - 1), None, why)
    if not rank.here:
        return Leaving("below", Terms(priority=0), None, why)
    told = Said(
        "A console sends universe {universe} with priority 0, and nothing is below that: nothing of ours is "
        "sent there while it is heard.",
        universe=universe,
    )
    return Leaving("below", SILENT, None, told)


def _topped(universe: int) -> Said:
    return Said(
        "A console sends universe {universe} with priority {priority}, and nothing is above that: only "
        "silence is filled there.",
        universe=universe,
        priority=MAX_PRIORITY,
    )
