"""From one plan's streams to the next one's: who carries on, what is moved, where a universe ends."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Self

from server.output.place import Key
from server.output.plan import Plan
from server.output.shared_map import SharedMap
from server.output.stream import Ending, Source, Stream, shares
from server.output.traces import Traces

__all__ = ["Change", "ends", "hand_over", "successors"]


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


@dataclass(frozen=True, slots=True)
class Change:
    """Streams that go and streams that come; those that stay take no part."""

    goes: Sequence[Stream]
    comes: Sequence[Stream]

    @classmethod
    def between(cls, before: Sequence[Stream], after: Sequence[Stream]) -> Self:
        """From one plan's to another's."""
        old, new = set(map(id, before)), set(map(id, after))
        return cls(
            [stream for stream in before if id(stream) not in new],
            [stream for stream in after if id(stream) not in old],
        )

    @property
    def came(self) -> set[Key]:
        """Where something is sent that was not, or was sent another way."""
        old = {place for stream in self.goes for place in stream.places}
        return {place.key for stream in self.comes for place in stream.places if place not in old}


def hand_over(change: Change, endings: Iterable[Ending], traces: Traces, now: float) -> None:
    """Let every place that changes hands see one stream that goes on."""
    traces.forget(now)
    for ending in endings:
        traces.leave(ending.places, ending.block, ending.pace.last, now)
    for stream in change.goes:
        if stream.shown:
            traces.leave(stream.places, stream.block, stream.pace.last, now)
    for stream in change.comes:
        traces.take(stream)


def ends(change: Change, now: float) -> list[Ending]:
    """What tells the places that get no more of a universe.

    One that is only reached another way now, as when our own address has changed, is told nothing: to its
    receivers a source is what its packets say, and to them it goes on.
    """
    there = {place for stream in change.comes for place in stream.places}
    spared = change.came
    made = []
    for stream in change.goes:
        gone = [place for place in stream.places if place not in there and place.key not in spared]
        if stream.shown and any(place.by.protocol == "sacn" for place in gone):
            made.append(stream.ending(gone, now))
    return made
