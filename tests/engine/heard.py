"""A console whose levels a test names, and what left before a restart."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from server.engine.engine import Engine
from server.stage.events import Event, UniverseShared
from server.stage.shared import Gone, Join, Shared
from tests.engine.rigs import Rig
from tests.shows import LEAD

__all__ = ["CHASE", "Desk", "following", "shared"]

CHASE = bytes((7 * slot + 3) % 256 for slot in range(512))


class Desk:
    """levels: what it sends, by universe. kept: what left last. leaves_out: slots it leaves to others.

    begun: whether anything of ours leaves. outranked: whether it ranks level with that, or above.
    """

    def __init__(self, kept: Mapping[int, bytes] | None = None) -> None:
        self.sends: dict[int, NDArray[np.uint8]] = {}
        self.kept = dict(kept or {})
        self.leaves_out: dict[int, NDArray[np.bool_]] = {}
        self.begun, self.outranked = True, False

    def drive(self, universe: int, levels: Mapping[int, int] | bytes, engine: Engine | None = None) -> bytes:
        """Send these levels, by slot, or all 512 of them, from now on; `engine` is told. What is sent."""
        whole = (
            bytes(levels.get(slot, 0) for slot in range(1, 513)) if isinstance(levels, Mapping) else levels
        )
        self.sends[universe] = np.frombuffer(whole, np.uint8)
        if engine is not None:
            engine.stir(universe)
        return whole

    def go(self, universe: int, engine: Engine) -> None:
        """Send nothing more, and say so."""
        del self.sends[universe]
        engine.stir(universe)

    def levels(self, universe: int, now: float) -> NDArray[np.uint8] | None:
        return self.sends.get(universe)

    def undriven(self, universe: int, now: float) -> NDArray[np.bool_] | None:
        return self.leaves_out.get(universe)

    def names(self, universe: int, now: float) -> tuple[str, ...]:
        return ("Front desk",) if universe in self.sends else ()

    def picture(self, universe: int) -> bytes | None:
        return self.kept.get(universe)

    def leaves(self, universe: int) -> bool:
        return self.begun

    def shows(self, universe: int, now: float) -> bool:
        return self.begun and not self.outranked


def shared(universe: int, join: Join = "slots", gone: Gone = "hold", follow: bool = True) -> UniverseShared:
    """The event of the lead deciding so."""
    return UniverseShared(LEAD.id, universe, Shared(join, follow, gone))


def following(join: Join = "slots", *happened: Event, desk: Desk | None = None) -> tuple[Rig, Desk]:
    """Both universes follow; one frame has left."""
    desk = desk or Desk()
    for universe in (1, 2):
        desk.drive(universe, CHASE)
    rig = Rig([shared(1, join), shared(2, join), *happened], heard=desk)
    rig.step()
    return rig, desk
