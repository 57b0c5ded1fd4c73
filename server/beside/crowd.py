"""More senders on a universe, by the numbers it has and those it is to have, than are kept account of."""

from collections.abc import Iterable

from server.hearing.source import Source
from server.hearing.sources import MOST, Sources
from server.rig.said import Said

__all__ = ["all_heard", "crowd"]


def all_heard(here: Iterable[Source], sources: Sources, universe: int, now: float) -> bool:
    """Whether these are heard on that universe, but for those that there is no room for beside the others.

    They rank lowest: whoever is above or followed is heard.
    """
    heard = {(one.id, one.number) for one in sources.live(universe, now)}
    missing = (one for one in here if (one.id, one.number) not in heard)
    return not any(sources.has_room(universe, one, now) for one in missing)


def crowd(sources: Sources, ahead: Sources, universe: int, now: float) -> Said | None:
    """That a universe on its way has more senders than `Sources` keeps, by all its numbers together.

    ahead: who is heard on the numbers that are new to it.
    """
    together = {(one.id, one.number) for each in (sources, ahead) for one in each.live(universe, now)}
    if len(together) <= MOST and not ahead.exceeded(universe, now) and not sources.exceeded(universe, now):
        return None
    return Said(
        "More than {most} sources send on the numbers that universe {universe} has and is to have: those "
        "with the lowest priority are not listened to here. You can decide all the same.",
        most=MOST,
        universe=universe,
    )
