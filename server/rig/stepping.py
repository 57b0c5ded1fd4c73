"""A slot that goes in steps (a wheel, a shutter): from end to end, and between two that differ in halves."""

from collections.abc import Generator, Mapping
from dataclasses import dataclass
from itertools import pairwise

__all__ = ["RUNNING", "STEPPED", "Ask", "Piece", "stepping"]

LAST = 255
NEAR = 8  # no closer: the middle of a piece is what is used
WIDE, NARROW = 32, 16  # shutters and prisms have few pieces, wheels have many
SHUTTER = ("flickers", "dark")
WHEELS = ("colour", "picture")
STEPPED = (*SHUTTER, *WHEELS, "multiplied", "effect")
RUNNING = ("turns", "passes", "flickers")
BETWEEN = ("first", "last", "third")


@dataclass(frozen=True, slots=True)
class Ask:
    """Show these levels one after the other, and ask about `at`."""

    ask: str
    levels: tuple[int, ...]
    choices: tuple[str, ...]
    at: int


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of the range, both ends included, in which the same is seen."""

    first: int
    last: int
    seen: str


@dataclass(frozen=True, slots=True)
class _Look:
    """Which look it is, told apart from others of the same words by its number."""

    seen: str
    number: int = 0


def choices_of(kind: str) -> tuple[str, ...]:
    """What may be seen at a level of a slot of that kind."""
    if kind in SHUTTER:
        return ("same", "light", "dark", "flickers", "enough")
    return ("same", "plain", "other", "turns", "passes", "flickers", "dark", "enough")


def stepping(kind: str) -> Generator[Ask, str, list[Piece]]:
    """Ask from end to end; what comes back in the end are the pieces, which cover 0 to 255."""
    grid = NARROW if kind in WHEELS else WIDE
    choices = choices_of(kind)
    at: dict[int, _Look] = {}
    count = 0
    first = yield Ask("level", (0,), choices[1:-1], 0)
    at[0] = _Look(first)
    end = yield Ask("level", (LAST,), choices[1:-1], LAST)
    at[LAST] = _Look(end, -1 if end == "other" else 0)
    level, before = grid, 0
    while level < LAST:
        answer = yield Ask("step", (before, level), choices, level)
        if answer == "enough":
            break
        count += answer == "other"
        at[level] = at[before] if answer == "same" else _Look(answer, count if answer == "other" else 0)
        if end in RUNNING and at[before].seen == at[level].seen == end:
            break  # it runs like that to the end
        before, level = level, level + grid
    levels = sorted(at)
    for low, high in pairwise(levels):
        if high != LAST or high - low <= grid:
            count = yield from _between(low, high, at, count)
    return _pieces(at)


def _between(low: int, high: int, at: dict[int, _Look], count: int) -> Generator[Ask, str, int]:
    """Find where the one look becomes the other, and what lies between."""
    if high - low <= NEAR or at[low] == at[high]:
        return count
    middle = (low + high) // 2
    answer = yield Ask("between", (low, middle, high), BETWEEN, middle)
    if answer == "third":
        count += 1
    at[middle] = {"first": at[low], "last": at[high], "third": _Look("other", count)}[answer]
    count = yield from _between(low, middle, at, count)
    return (yield from _between(middle, high, at, count))


def _pieces(at: Mapping[int, _Look]) -> list[Piece]:
    levels = sorted(at)
    pieces: list[Piece] = []
    look, first = at[0], 0
    for low, high in pairwise(levels):
        if at[high] != look:
            change = (low + high + 1) // 2
            pieces.append(Piece(first, change - 1, look.seen))
            look, first = at[high], change
    return [*pieces, Piece(first, LAST, look.seen)]
