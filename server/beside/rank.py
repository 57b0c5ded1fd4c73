"""Which priorities the consoles on a universe send with."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.hearing.source import Source
from server.stage.shared import Join

__all__ = ["Rank", "rank_before", "rank_of"]

_USUAL = 100  # E1.31-2018, 6.2.3: the default; what is reckoned with before anybody was heard
_LOW = 2  # and where we stay below, so that nearly everybody who comes is above from the first packet on


@dataclass(frozen=True, slots=True)
class Rank:
    """highest, lowest: of all packets and slots (START code 0xDD) heard by sACN; by Art-Net there are none.

    here: somebody drives the universe now. While nobody does, the priorities are those heard last, so that
    whoever comes back is above or below us from its first packet on.
    """

    highest: int = _USUAL
    lowest: int = _LOW
    here: bool = False


def rank_of(live: Sequence[Source], before: Rank, now: float) -> Rank:
    """The rank of those that drive a universe now. before: the one until now."""
    given = [priority for source in live for priority in _priorities(source, now)]
    if not given:
        return replace(before, here=bool(live))
    return Rank(max(given), min(given), here=True)


def _priorities(source: Source, now: float) -> list[int]:
    if source.protocol == "artnet":
        return []
    each = source.each(now)
    slots = [] if each is None or not each.any() else [int(each.max()), int(each[each > 0].min())]
    return [source.priority, *slots]


def rank_before(join: Join, priority: int, outrank: int | None, artnet: bool) -> Rank:
    """The rank that a universe was sent beside before a restart, which gives the same terms again.

    priority: of its packets. outrank: the highest of its slots, None: they have none. artnet: whether it
    goes by Art-Net.
    """
    match join:
        case "above":
            return Rank(priority - 1, min(priority - 1, _LOW), here=True)
        case "slots":
            return Rank(max((outrank or 0) - 1, priority + 1), priority + 1, here=not artnet)
        case "below":
            return Rank(max(_USUAL, priority + 1), priority + 1, here=not artnet)
        case _:
            return Rank()
