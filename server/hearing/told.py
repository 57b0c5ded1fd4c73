"""Who wins at a node where somebody else sends what we send, and why: in words."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from server.hearing.source import Source
from server.hearing.sources import MOST, Sources
from server.rig.said import Fact, Said

__all__ = ["Ours", "Winner", "alerts", "ended", "highest", "sentence", "told_of_twin", "winner"]

Winner = Literal["it", "we", "both", "neither", "each slot", "the node"]

_MOST_TOLD = 6  # sentences at once; the list of sources has them all
_MOST_NAMED = 8  # universes in a sentence
_ARTNET_MERGED = 2  # Art-Net 4, Data Merging


@dataclass(frozen=True, slots=True)
class Ours:
    """How a universe of ours leaves.

    priority: of our sACN packets; None: we send none. sent: whether anything of it leaves. outrank: the
    priority of our slots in hand (START code 0xDD), where those have one. follows: what is in nobody's hand
    is as a console sends it. shared: the lead has said where among the priorities, and that is kept to.
    """

    priority: int | None
    sent: bool = True
    outrank: int | None = None
    follows: bool = False
    shared: bool = False


def highest(sources: Iterable[Source]) -> int:
    """The highest priority among those that drive a universe by sACN; -1 where none does."""
    return max((source.priority for source in sources if source.protocol == "sacn"), default=-1)


def winner(source: Source, ours: Ours, top: int, now: float) -> Winner:
    """Whose levels show at a node that hears all of us. top: the highest priority of all others there."""
    if not ours.sent:
        return "it"
    if source.protocol == "artnet":
        return "both"
    if ours.priority is None:
        return "the node"
    if source.each(now) is not None or ours.outrank is not None:
        return "each slot"
    if source.priority < max(top, ours.priority):
        return "neither" if top > ours.priority else "we"
    return "both" if source.priority == ours.priority else "it"


def sentence(source: Source, universes: Sequence[int], ours: Ours, top: int, now: float) -> Said:
    """That it sends on these universes of ours, who wins there, and why; ours and top as for `winner`."""
    name, on = source.name or source.address, _named(universes)
    if not ours.sent:
        return Said("{name} sends on universe {universes}, and we do not.", name=name, universes=on)
    if source.protocol == "artnet":
        return Said(
            "{name} also sends on universe {universes}, by Art-Net, which has no priority: of two sources a "
            "node shows the higher level of each slot, and it ignores a third.",
            name=name,
            universes=on,
        )
    facts: dict[str, Fact] = {"name": name, "universes": on, "priority": source.priority}
    return _compared(source, ours, top, facts, now)


def _compared(source: Source, ours: Ours, top: int, facts: dict[str, Fact], now: float) -> Said:
    mine = ours.priority or 0
    match winner(source, ours, top, now):
        case "the node":
            return Said(
                "{name} also sends on universe {universes}, by sACN with priority {priority}, and we by "
                "Art-Net only: which of them a node follows is its own setting.",
                **facts,
            )
        case "each slot" if ours.outrank is not None:
            return Said(
                "{name} also sends on universe {universes}, with priority {priority}: nodes follow it, but "
                "those that read a priority for each slot follow us, with {outrank}, for slots in hand.",
                outrank=ours.outrank,
                **facts,
            )
        case "each slot":
            return Said(
                "{name} also sends on universe {universes}, with a priority for each slot: a node that reads "
                "those compares each with our {ours}, any other goes by {priority} for the whole universe.",
                ours=mine,
                **facts,
            )
        case "both":
            return Said(
                "{name} also sends on universe {universes}, with priority {priority} like us: a node shows "
                "both, as a rule the higher level of each slot.",
                **facts,
            )
        case "neither":
            return Said(
                "{name} also sends on universe {universes}, with priority {priority}: another source has "
                "{top}, above our {ours}, and nodes follow that.",
                ours=mine,
                top=top,
                **facts,
            )
        case "it":
            return Said(
                "{name} also sends on universe {universes}, with priority {priority}, above our {ours}: "
                "nodes follow it, and nothing of ours shows there.",
                ours=mine,
                **facts,
            )
        case _ if ours.follows:
            return Said(
                "{name} also sends on universe {universes}, with priority {priority}, below our {ours}: "
                "nodes follow us, and what is in nobody's hand is as it sends it.",
                ours=mine,
                **facts,
            )
        case _:
            return Said(
                "{name} also sends on universe {universes}, with priority {priority}, below our {ours}: "
                "nodes follow us, and nothing of its own shows there.",
                ours=mine,
                **facts,
            )


def told_of_twin(host: str, parted: bool = False) -> Said:
    """That another machine sends as this one. parted: this one is somebody else from now on."""
    if parted:
        return Said(
            "The machine at {host} sends with the identity of this laptop: one data folder is a copy of the "
            "other. This laptop has one of its own now, and hears the other like any console.",
            host=host,
        )
    return Said(
        "The machine at {host} sends with the identity of this laptop: one data folder is a copy of the "
        "other. Nodes take both for one, so light may jump. End one of the two programs and start it again: "
        "it then hears the other, and takes an identity of its own.",
        host=host,
    )


def ended(source: Source, universe: int, now: float) -> Said:
    """Why one that was heard on this universe does not drive it now."""
    name = source.name or source.address
    match source.state(now):
        case "preview":
            return Said(
                "{name} sends a preview of universe {universe}: nodes do not show it.",
                name=name,
                universe=universe,
            )
        case "terminated":
            return Said("{name} has ended universe {universe}.", name=name, universe=universe)
        case _:
            return Said(
                "{name} sends no levels on universe {universe} any more.", name=name, universe=universe
            )


@dataclass(slots=True)
class _Group:
    source: Source
    ours: Ours
    top: int
    universes: list[int]


def alerts(sources: Sources, ours: Callable[[int], Ours], now: float) -> list[Said]:
    """One sentence for each source and way it compares, and what is beyond limits.

    ours: how each universe of ours leaves; nothing is said of one that does not, nor of what is as the lead
    decided.
    """
    groups: dict[tuple[object, ...], _Group] = {}
    third, beyond = [], []
    for universe in sources.universes():
        live = sources.live(universe, now)
        top = highest(live)
        by_artnet = Counter(source.number for source in live if source.protocol == "artnet")
        if max(by_artnet.values(), default=0) > _ARTNET_MERGED:
            third.append(universe)
        if sources.exceeded(universe, now):
            beyond.append(universe)
        mine = ours(universe)
        told_of = [one for one in live if mine.sent and not (mine.shared and one.protocol == "sacn")]
        for source in told_of:
            wins = winner(source, mine, top, now)
            whose = source.protocol, source.sender, source.name, source.priority
            key = *whose, mine, wins, wins == "neither" and top
            on = groups.setdefault(key, _Group(source, mine, top, [])).universes
            if universe not in on:  # it may send with several numbers that lead there
                on.append(universe)
    told = [sentence(one.source, one.universes, one.ours, one.top, now) for one in groups.values()]
    if len(told) > _MOST_TOLD:
        rest = len(told) - _MOST_TOLD + 1
        told = [*told[: _MOST_TOLD - 1], Said("{count} more sources send on universes of ours.", count=rest)]
    if third:
        told.append(
            Said(
                "More than two sources send by Art-Net on universe {universes}: nodes ignore the third.",
                universes=_named(third),
            )
        )
    if beyond:
        told.append(
            Said(
                "More than {most} sources send on universe {universes}: those with the lowest priority are "
                "not listened to here.",
                most=MOST,
                universes=_named(beyond),
            )
        )
    return told


def _named(universes: Iterable[int]) -> str:
    numbers = sorted(set(universes))
    more = ", …" if len(numbers) > _MOST_NAMED else ""
    return ", ".join(str(number) for number in numbers[:_MOST_NAMED]) + more
