"""What the lead is told about universes that follow a console: who has gone, and who is back."""

from collections.abc import Callable, Iterable

from server.beside.told import named
from server.engine.following import Followed
from server.rig.said import Said

__all__ = ["followed"]

_BACK_S = 15.0  # how long it is said that somebody is back


def followed(all_: Iterable[Followed], now: float, clock: Callable[[float], str]) -> dict[str, Said]:
    """Sentences by what they are about: `follow ...`, one for all universes of one kind.

    clock: the time of day of a moment of the clock that `now` is of.
    """
    groups: dict[tuple[str, tuple[str, ...], str], list[int]] = {}
    for one in all_:
        if kind := _kind(one, now):
            since = one.since if one.returned is None else one.returned
            groups.setdefault((kind, one.names, clock(since)), []).append(one.universe)
    return {
        f"follow {number}": _sentence(*key, named(universes))
        for number, (key, universes) in enumerate(groups.items(), 1)
    }


def _kind(one: Followed, now: float) -> str:
    if one.standing == "live":
        return "back" if one.returned is not None and now - one.returned < _BACK_S else ""
    if one.standing == "unheard":
        return "" if now < one.listens else "kept" if one.given else "unheard"
    return one.standing


def _sentence(kind: str, names: tuple[str, ...], time: str, universes: str) -> Said:
    name = ", ".join(names)
    match kind:
        case "held":
            return Said(
                "{name} has not been heard on universe {universes} since {time}: its last levels are held.",
                name=name,
                universes=universes,
                time=time,
            )
        case "baseline":
            return Said(
                "{name} has not been heard on universe {universes} since {time}: all there goes to the "
                "baseline.",
                name=name,
                universes=universes,
                time=time,
            )
        case "back":
            return Said(
                "{name} is back on universe {universes} since {time}.",
                name=name,
                universes=universes,
                time=time,
            )
        case "kept":
            return Said(
                "Nothing is heard on universe {universes} yet: what left before the start is held.",
                universes=universes,
            )
        case _:
            return Said(
                "Nothing is heard on universe {universes} yet: it shows the baseline until a console is.",
                universes=universes,
            )
