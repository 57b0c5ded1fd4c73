"""What of a universe stays ours when it is given back, until nothing is sent there any more."""

from collections.abc import Collection

from server.beside.told import named
from server.rig.patch import Fixture
from server.rig.said import Said
from server.stage.shared import Join
from server.stage.state import State

__all__ = ["DIMMED", "dims", "staying"]

DIMMED = Said("Blackout or the master holds it down.")
_WHOLE = ("above", "alone")  # where they act on all that a console drives


def staying(state: State, universe: int, join: Join | None) -> list[Said]:
    """One sentence for each reason. join: how it leaves now; None: it does not.

    All hands, looks and slots there are let go of; this is what somebody has to lift by another way.
    """
    if join is None or join == "off":
        return []
    units = [unit for unit in state.fixtures.values() if universe in unit.universes]
    told = list[Said]()
    if tagged := [unit for unit in units if unit.id in state.out_of_use]:
        told.append(
            Said(
                "Out of use: {units}. Held until nothing of ours is sent; then the console drives them "
                "again.",
                units=_called(tagged),
            )
        )
    if still := [unit for unit in units if unit.id in state.still]:
        told.append(
            Said(
                "Somebody is aloft there: {units}. They stay where they point until nothing of ours is sent; "
                "then the console moves them.",
                units=_called(still),
            )
        )
    if dims(state, join):
        told.append(
            Said(
                "Blackout or the master holds this universe down until nothing of ours is sent; then it is "
                "at once as the console sends it."
            )
        )
    return told


def dims(state: State, join: Join | None) -> bool:
    """Whether blackout or the master acts on what a console drives there."""
    return join in _WHOLE and (state.blackout or state.master < 1)


def _called(units: Collection[Fixture]) -> str:
    channels = {unit.channel for unit in units if unit.channel is not None}
    return named(channels) if channels else Said("units without a channel")
