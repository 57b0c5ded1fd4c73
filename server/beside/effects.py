"""What a node will show under each way to join, for the priorities heard now: in words, before it is so."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from server.beside.terms import Leaving
from server.hearing.source import Source
from server.rig.said import Said

__all__ = ["NODES", "Beside", "Node", "beside", "effect", "takes"]

Node = Literal["each", "plain", "artnet"]
NODES: tuple[Node, ...] = ("each", "plain", "artnet")


@dataclass(frozen=True, slots=True)
class Beside:
    """Who drives a universe now. packets: the highest sACN priority of their packets; None: none is heard.

    each: lowest and highest priority as a node that reads those of slots compares them. artnet: how many
    send by Art-Net with one Port-Address.
    """

    packets: int | None = None
    each: tuple[int, int] = (0, 0)
    artnet: int = 0

    @property
    def here(self) -> bool:
        """Whether anybody drives it."""
        return self.packets is not None or self.artnet > 0


def beside(live: Sequence[Source], now: float) -> Beside:
    """Those that drive a universe now."""
    by_sacn = [source for source in live if source.protocol == "sacn"]
    artnet = max(Counter(one.number for one in live if one.protocol == "artnet").values(), default=0)
    if not by_sacn:
        return Beside(artnet=artnet)
    priorities = list[int]()
    for source in by_sacn:
        each = source.each(now)
        driven = None if each is None else each[each > 0]
        if driven is None:
            priorities.append(source.priority)
        elif len(driven):
            priorities += [int(driven.min()), int(driven.max())]
    packets = max(source.priority for source in by_sacn)
    priorities = priorities or [0]
    return Beside(packets, (min(priorities), max(priorities)), artnet)


def takes(leaving: Leaving, others: Beside, own: int) -> bool:
    """Whether levels of ours take a console's place, or mix with them, where it is not followed."""
    if leaving.outrank is not None:
        return True  # slots in hand do
    priority = own if leaving.terms.priority is None else leaving.terms.priority
    by_sacn = (
        leaving.terms.sacn and others.packets is not None and priority >= min(others.each[0], others.packets)
    )
    return by_sacn or (leaving.terms.artnet and others.artnet > 0)


def effect(node: Node, leaving: Leaving, others: Beside, own: int, follows: bool) -> Said:
    """What that kind of node will show. own: our usual sACN priority.

    `each` reads a priority for each slot (START code 0xDD), `plain` does not, `artnet` hears Art-Net only.
    """
    if node == "artnet":
        return _by_artnet(leaving, others)
    if others.packets is None:
        return _unheard_by_sacn(leaving, others)
    if not leaving.terms.sacn:
        return Said("The console, and nothing of ours.")
    priority = own if leaving.terms.priority is None else leaving.terms.priority
    lowest, highest = others.each if node == "each" else (others.packets, others.packets)
    if node == "each" and leaving.outrank is not None:
        return Said(
            "Slots in hand as we send them ({outrank} above {top}), all else as the console sends it.",
            outrank=leaving.outrank,
            top=highest,
        )
    if priority < lowest:
        return Said(
            "The console: its {top} is above our {ours}. Ours shows when it stops.", top=lowest, ours=priority
        )
    if priority > highest and follows:
        return Said(
            "Ours: {ours} is above {top}. What is in nobody's hand is as the console sends it.",
            ours=priority,
            top=highest,
        )
    if priority > highest:
        return Said(
            "Ours alone: {ours} is above {top}, and nothing of the console shows.", ours=priority, top=highest
        )
    if lowest == highest:
        return Said(
            "A mixture: the console has {ours}, too, and most nodes show the higher level of each slot.",
            ours=priority,
        )
    return Said(
        "Slot by slot: the console gives them {lowest} to {top}, and ours is {ours}.",
        lowest=lowest,
        top=highest,
        ours=priority,
    )


def _unheard_by_sacn(leaving: Leaving, others: Beside) -> Said:
    if not leaving.terms.sacn:
        return Said("Nothing of ours.")
    if others.artnet:
        return Said(
            "Ours: the console is heard by Art-Net only. Which of the two it follows is its own setting."
        )
    return Said("Ours: nobody else is heard here.")


def _by_artnet(leaving: Leaving, others: Beside) -> Said:
    if not leaving.terms.artnet and others.here and leaving.terms.sacn:
        return Said("Nothing of ours for as long as a console is heard: Art-Net has no priority.")
    if not leaving.terms.artnet:
        return Said("Nothing of ours.")
    if others.artnet == 1:
        return Said(
            "Both: the higher level of each slot. We can raise what the console sends, and lower nothing."
        )
    if others.artnet:
        return Said("Two others, and nothing of ours: a node ignores a third sender by Art-Net.")
    return Said("Ours: nobody else is heard here by Art-Net.")
