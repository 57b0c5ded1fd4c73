"""Addresses for fixtures that have none, proposed: what hangs together is patched together."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from server.rig.patch import Fixture, mode_of
from server.rig.place import Start
from server.rig.profile import Mode, Profile
from server.rig.taken import Taken
from server.rig.universe import OffLimits, Reserved

__all__ = ["PlanRules", "by_hanging", "plan"]

Place = tuple[int, int]  # universe and slot


@dataclass(frozen=True, slots=True)
class PlanRules:
    """How to patch. gap: slots left free behind each fixture, for a longer mode later.

    together: a position that fits into one universe is not spread over two.
    """

    gap: int = 0
    together: bool = True


def plan(
    wanted: Iterable[Fixture],
    others: Iterable[Fixture],
    profiles: Mapping[str, Profile],
    kept: Iterable[OffLimits | Reserved],
    start: Place,
    rules: PlanRules = PlanRules(),
) -> tuple[list[Fixture], list[Fixture]]:
    """`wanted` with addresses from universe and slot `start` on, and those of them that found no room.

    They come in the order given, position by position in the order in which each first comes. Each gets the
    next place where all its slots are free, so addresses rise in that order, and no fixture lies in two
    universes. others: keep what they have. kept: ranges that stay free. A fixture of an unknown mode finds no
    room. The same question has the same answer.
    """
    by_position: dict[str, list[Fixture]] = {}
    for fixture in wanted:
        by_position.setdefault(fixture.position, []).append(fixture)
    taken = Taken(others, profiles, kept)
    placed: list[Fixture] = []
    left: list[Fixture] = []
    cursor: Place | None = start
    for group in by_position.values():
        known = [(f, mode) for f in group if (mode := mode_of(f, profiles)) is not None]
        left += [f for f in group if mode_of(f, profiles) is None]
        found, behind = _row(known, taken, cursor, rules.gap)
        if rules.together and len(found) == len(known) and _across(found):
            first = min(_universes(found))
            afresh, after = _row(known, taken, (first + 1, 1), rules.gap)
            if len(afresh) == len(known) and not _across(afresh):
                found, behind = afresh, after
        for fixture in found:
            taken.add(fixture)
        placed += found
        left += [f for f, _ in known[len(found) :]]
        cursor = behind
    return placed, left


def _row(
    fixtures: Iterable[tuple[Fixture, Mode]], taken: Taken, cursor: Place | None, gap: int
) -> tuple[list[Fixture], Place | None]:
    """The fixtures one behind the other, as many as there is room for, and where the next may begin."""
    found: list[Fixture] = []
    for fixture, mode in fixtures:
        starts: list[Start] = []
        for number, slots in mode.footprints.items():
            place = taken.next_free(*cursor, slots) if cursor else None
            cursor = (place[0], place[1] + slots + gap) if place else None
            starts += [Start(number, *place)] if place else []
        if cursor is None:
            break
        first, *more = starts
        found.append(replace(fixture, universe=first.universe, address=first.address, starts=tuple(more)))
    return found, cursor


def _universes(fixtures: Iterable[Fixture]) -> set[int]:
    return {universe for f in fixtures for universe in f.universes}


def _across(fixtures: Iterable[Fixture]) -> bool:
    return len(_universes(fixtures)) > 1


def by_hanging(fixtures: Iterable[Fixture]) -> list[Fixture]:
    """Position by position as they first come, units in the order of their numbers: 2, 3, 3A, 10."""
    there = tuple(fixtures)
    positions = {position: at for at, position in enumerate(dict.fromkeys(f.position for f in there))}
    return sorted(there, key=lambda f: (positions[f.position], _counted(f.unit)))


def _counted(unit: str) -> list[tuple[int, str]]:
    # Digits by what they count, and only those that int() reads.
    parts = re.split(r"([0-9]+)", unit.casefold())
    return [(int(part[:18]), "") if at % 2 else (-1, part) for at, part in enumerate(parts)]
