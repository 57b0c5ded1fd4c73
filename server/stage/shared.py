"""How a universe is shared with a console that drives it, too."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from server.stage.outputs import By

__all__ = ["ALONE", "FOLLOWING", "GONE", "JOINS", "Called", "Gone", "Join", "Shared"]

Join = Literal["alone", "above", "slots", "below", "off"]
Called = tuple[By, int, str]  # protocol, number on the wire, and our address it leaves by; "" is the main one
Gone = Literal["hold", "baseline"]
JOINS: tuple[Join, ...] = ("alone", "above", "slots", "below", "off")
GONE: tuple[Gone, ...] = ("hold", "baseline")
FOLLOWING: tuple[Join, ...] = ("above", "slots")  # only with its levels in ours nothing of it is taken away


@dataclass(frozen=True, slots=True)
class Shared:
    """What the lead has decided about one universe.

    join: `alone`: sent with our own priority, as if nobody else were there. `above`: the whole universe
    with a priority above the console's, its levels passed through. `slots`: only slots in hand outrank it,
    by START code 0xDD, and our packets rank below its own. `below`: a lower priority, which only fills
    silence. `off`: nothing is sent. follow: what is in nobody's hand does what the console sends; always with
    `above` and `slots`. gone: when the console goes its last levels are held, or all fades to the baseline.
    called: what the universe was called where it was to go then; (): whatever it is called.
    """

    join: Join = "alone"
    follow: bool = False
    gone: Gone = "hold"
    called: tuple[Called, ...] = ()

    def holds_for(self, called: Iterable[Called]) -> bool:
        """Whether it was decided for all of these. A console on another number was not decided about."""
        return not self.called or set(called) <= set(self.called)


ALONE = Shared()
