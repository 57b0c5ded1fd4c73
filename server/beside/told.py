"""What people are told about universes that are listened to, that wait, and that cannot leave as decided."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from math import ceil, inf

from server.beside.joining import Standing
from server.beside.moving import Move
from server.engine.routing import Ear
from server.hearing.source import Source
from server.rig.said import Said
from server.stage.state import State

__all__ = ["alerts", "how", "moved", "named", "outranks", "unheld"]

NAMES = {"sacn": "sACN", "artnet": "Art-Net"}  # the same in every language

_MOST_TOLD = 6  # sentences of one kind
_MOST_NAMED = 8  # universes or units in a sentence


def alerts(
    standings: Mapping[int, Standing],
    moves: Mapping[int, Move],
    now: float,
    clock: Callable[[float], str],
    crowds: Sequence[Said | None] = (),
) -> dict[str, Said]:
    """Sentences by what they are about; `join ...`, `move ...` are the lead's, `waits` is everybody else's.

    clock: the time of day of a moment of the clock handed in. crowds: about those on their way that have
    more senders than are kept account of.
    """
    told = dict[str, Said]()
    # One that has not begun to listen has no network: that is told by itself.
    listening = {u: one for u, one in standings.items() if one.where == "listening" and one.until < inf}
    if listening:
        left = max(one.until - now for one in listening.values())
        told["listening"] = Said(
            "Listening on universe {universes} before anything is sent, {seconds} s left.",
            universes=named(listening),
            seconds=max(1, ceil(left)),
        )
    waiting = {u: one for u, one in standings.items() if one.where == "waiting"}
    if waiting:
        told["waits"] = Said(
            "Universe {universes} waits: somebody else drives it, and the lead has to decide how to join. "
            "Nothing of ours is sent there.",
            universes=named(waiting),
        )
    sentences = [
        *_asked(waiting, now, clock),
        *(moved(universe, one, now, clock) for universe, one in moves.items() if one.where == "waiting"),
        *crowds,
        *(one.leaving.why for one in standings.values() if _differs(one)),
    ]
    going = [(universe, one) for universe, one in moves.items() if one.where == "listening"]
    for at, (universe, one) in enumerate(going[:_MOST_TOLD]):
        told[f"move {at + 1}"] = moved(universe, one, now, clock)
    for at, sentence in enumerate([one for one in sentences if one is not None][:_MOST_TOLD]):
        told[f"join {at + 1}"] = sentence
    return told


def _differs(standing: Standing) -> bool:
    return standing.where == "joined" and standing.leaving.why is not None and standing.rank.here


def _asked(waiting: Mapping[int, Standing], now: float, clock: Callable[[float], str]) -> Iterable[Said]:
    groups: dict[tuple[object, ...], tuple[Source, list[int]]] = {}
    for universe, standing in waiting.items():
        if (source := standing.first) is not None:
            key = source.protocol, source.name, source.sender, source.priority, source.state(now)
            groups.setdefault(key, (source, []))[1].append(universe)
    for source, universes in groups.values():
        if source.state(now) != "live":
            yield Said(
                "{name} drove universe {universes} ({how}) and is not heard any more. Nothing of ours is "
                "sent there until you say how to join.",
                name=source.name or source.address,
                universes=named(universes),
                how=how(source),
            )
            continue
        yield Said(
            "{name} drives universe {universes} ({how}, since {time}). Nothing of ours is sent there until "
            "you say how to join.",
            name=source.name or source.address,
            universes=named(universes),
            how=how(source),
            time=clock(source.since),
        )


def moved(universe: int, move: Move, now: float, clock: Callable[[float], str]) -> Said:
    """That a universe is on its way to numbers that are new to it, and what it waits for."""
    source = move.first
    if source is None:
        left = move.until - now if move.until < now + 3600 else 0.0
        return Said(
            "Universe {universe} is to leave as {numbers}: that is listened to first, {seconds} s left. "
            "Until then all of it goes on as before.",
            universe=universe,
            numbers=", ".join(_on_wire(ear) for ear in sorted(move.ears)),
            seconds=max(1, ceil(left)),
        )
    if move.agreed:
        return Said(
            "Universe {universe} leaves as {number} beside {name} as soon as it carries what {name} sends.",
            universe=universe,
            number=f"{NAMES[source.protocol]} {source.number}",
            name=source.name or source.address,
        )
    return Said(
        "{name} drives {number} ({how}, since {time}), as which universe {universe} is to leave. All of it "
        "goes on as before until you say how to join.",
        name=source.name or source.address,
        number=f"{NAMES[source.protocol]} {source.number}",
        how=how(source),
        time=clock(source.since),
        universe=universe,
    )


def _on_wire(ear: Ear) -> str:
    return f"{NAMES[ear.by]} {ear.number}" + (f" ({ear.interface})" if ear.interface else "")


def how(source: Source) -> Said:
    """By which protocol it sends, and with what priority."""
    if source.protocol == "artnet":
        return Said("Art-Net, which has no priority")
    return Said("sACN, priority {priority}", priority=source.priority)


def outranks(standing: Standing, here: Sequence[Source], own: int | None) -> bool:
    """Whether what is ours shows at a node beside those who drive it, too. own: our usual priority."""
    if not here:
        return True
    terms = standing.terms
    if any(source.protocol == "artnet" for source in here) or not terms.sacn:
        return False  # by Art-Net a node shows the higher level of both
    if standing.leaving.outrank is not None:
        return standing.leaving.outrank > standing.rank.highest
    priority = own if terms.priority is None else terms.priority
    return priority is not None and priority > standing.rank.highest


def unheld(state: State, outranked: set[int]) -> Said | None:
    """That what people hold still can be moved by a console. outranked: universes where it can."""
    units = [
        fixture
        for fixture in state.fixtures.values()
        if outranked.intersection(fixture.universes) and state.frozen(fixture.id)
    ]
    if not units:
        return None
    universes = outranked.intersection(u for unit in units for u in unit.universes)
    channels = {unit.channel for unit in units if unit.channel is not None}
    if not channels:
        return Said(
            "Hands on, aloft and out of use cannot hold units against the console: it drives universe "
            "{universes}.",
            universes=named(universes),
        )
    return Said(
        "Hands on, aloft and out of use cannot hold {units} against the console: it drives universe "
        "{universes}.",
        units=named(channels),
        universes=named(universes),
    )


def named(numbers: Iterable[int]) -> str:
    """A few numbers in one line."""
    given = sorted(set(numbers))
    more = ", …" if len(given) > _MOST_NAMED else ""
    return ", ".join(str(number) for number in given[:_MOST_NAMED]) + more
