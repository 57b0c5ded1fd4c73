"""What was last sent to places that change hands, for as long as their receivers know it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from server.output.place import Key, Place
from server.output.shared_map import SharedMap
from server.output.stream import Stream
from server.wire.artnet import next_sequence
from server.wire.e131 import LOSS_S

__all__ = ["Traces"]

_MAY_GO_BETWEEN = 19 + 60


@dataclass(frozen=True, slots=True)
class _Trace:
    number: int
    last: float
    known_until: float


class Traces:
    """The number and the time of the last packet, by place and by the block of the universe it was of.

    Where another universe goes to such a place, its receiver must neither get two packets at once nor an
    older number: what is up to 19 behind is dropped (E1.31-2018, 6.7.2). A number that jumps ahead is not.
    """

    def __init__(self, shared: SharedMap) -> None:
        self._map = shared
        self._known: dict[Key, dict[int, _Trace]] = {}

    def leave(self, places: Iterable[Place], block: int, last: float, now: float) -> None:
        """Nothing more may be sent there from this block."""
        for place in places:
            sacn = place.by.protocol == "sacn"
            numbers = self._map.sacn_sequences if sacn else self._map.artnet_sequences
            trace = _Trace(numbers[block], last, now + LOSS_S)
            self._known.setdefault(place.key, {})[block] = trace

    def take(self, stream: Stream) -> None:
        """Let what this stream sends next be new to all who hear it, and not too soon after the last."""
        others = {
            (place.by.protocol, trace.number, trace.last)
            for place in stream.places
            for block, trace in self._known.get(place.key, {}).items()
            if block != stream.block
        }
        for _, _, last in others:
            stream.pace.not_soon_after(last)
        sacn = {number for protocol, number, _ in others if protocol == "sacn"}
        art = {number for protocol, number, _ in others if protocol == "artnet"}
        _skip(self._map.sacn_sequences, stream.block, sacn, _next_sacn)
        _skip(self._map.artnet_sequences, stream.block, art, next_sequence)

    def forget(self, now: float) -> None:
        """Who heard nothing for 2.5 s takes any number (6.7.1)."""
        for key, traces in tuple(self._known.items()):
            known = {block: trace for block, trace in traces.items() if trace.known_until > now}
            if known:
                self._known[key] = known
            else:
                del self._known[key]


def _skip(numbers: memoryview, block: int, known: set[int], following: Callable[[int], int]) -> None:
    while any(_may_look_late(number, following(numbers[block])) for number in known):
        numbers[block] = following(numbers[block])


def _may_look_late(last: int, new: int) -> bool:
    # At once or after some more packets that went elsewhere, on the same count.
    return -_MAY_GO_BETWEEN < (new - last + 128) % 256 - 128 <= 0


def _next_sacn(number: int) -> int:
    return (number + 1) & 255
