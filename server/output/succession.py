"""From one plan's streams to the next one's: who carries on, what is moved, where a universe ends."""

from collections.abc import Iterable, Sequence

from server.output.place import Key, Place
from server.output.plan import Plan
from server.output.shared_map import SharedMap
from server.output.stream import Ending, Source, Stream, shares
from server.wire.artnet import next_sequence
from server.wire.e131 import is_late

__all__ = ["ends", "successors", "take_places_over"]


def successors(
    before: Sequence[Stream],
    plan: Plan,
    source: Source,
    together_hz: float | None,
    shared: SharedMap,
    now: float,
) -> list[Stream]:
    """The streams of this plan. Those that it leaves as they are stay the same objects, pace and all."""
    blocks = {universe: block for block, universe in enumerate(shared.universes) if universe}
    old: dict[int, list[Stream]] = {}
    for stream in before:
        old.setdefault(stream.planned.universe, []).append(stream)
    made = []
    for planned in plan.universes:
        mine = old.get(planned.universe, [])
        for share, hz in shares(planned, together_hz):
            same = next((each for each in mine if each.is_as(share, source, hz)), None)
            stream = same or Stream(share, source, blocks[planned.universe], hz)
            if same is None:
                if mine:
                    stream.carry_on(mine, now)
                    if together_hz is None:
                        stream.pace.set_steady(planned.steady, now)
                else:
                    stream.frames = shared.frames[stream.block]
            made.append(stream)
    return made


def take_places_over(
    before: Sequence[Stream], after: Sequence[Stream], endings: Iterable[Ending], shared: SharedMap
) -> None:
    """Where a place changes hands, its receiver must neither get two packets at once nor an older number.

    E1.31-2018, 6.7.2: what is up to 19 behind is dropped. A number that jumps ahead is none.
    """
    held: dict[Key, dict[int, float]] = {}
    for ending in endings:
        for place in ending.places:
            held.setdefault(place.key, {})[ending.block] = ending.pace.last
    for stream in before:
        for place in stream.places if stream.slots else ():
            held.setdefault(place.key, {})[stream.block] = stream.pace.last
    columns = {
        "sacn": (shared.sacn_sequences, _next_sacn),
        "artnet": (shared.artnet_sequences, next_sequence),
    }
    was = {protocol: bytes(numbers) for protocol, (numbers, _) in columns.items()}
    for stream in after:
        for place in stream.places:
            others = held.get(place.key, {})
            if stream.block in others:
                continue
            numbers, following = columns[place.by.protocol]
            for block, last in others.items():
                stream.pace.not_soon_after(last)
                while is_late(was[place.by.protocol][block], following(numbers[stream.block])):
                    numbers[stream.block] = following(numbers[stream.block])


def _next_sacn(number: int) -> int:
    return (number + 1) & 255


def ends(before: Sequence[Stream], after: Sequence[Stream], same_source: bool, now: float) -> list[Ending]:
    """What tells the places that get no more of a universe.

    One that is only reached another way now, as when our own address has changed, is told nothing: to its
    receivers a source is what its packets say, and to them it goes on.
    """
    old = {place for stream in before for place in stream.places}
    new = {place for stream in after for place in stream.places} if same_source else set[Place]()
    spared = {place.key for place in new - old}
    made = []
    for stream in before:
        gone = [place for place in stream.places if place not in new and place.key not in spared]
        if stream.slots and any(place.by.protocol == "sacn" for place in gone):
            made.append(stream.ending(gone, now))
    return made
