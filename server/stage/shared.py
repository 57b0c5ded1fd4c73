"""How a universe is shared with a console that drives it, too."""

from dataclasses import dataclass
from typing import Literal

__all__ = ["ALONE", "FOLLOWING", "GONE", "JOINS", "Gone", "Join", "Shared"]

Join = Literal["alone", "above", "slots", "below", "off"]
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
    """

    join: Join = "alone"
    follow: bool = False
    gone: Gone = "hold"


ALONE = Shared()
