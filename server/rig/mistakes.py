"""What may be wrong when another unit answers: one address, one mode, one cable, one row of labels."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import log2

from server.rig.answered import Asked, Needs
from server.rig.patch import Fixture, mode_of, spoken
from server.rig.plan import by_hanging
from server.rig.profile import Profile
from server.rig.said import Said
from server.rig.universe import last_start

__all__ = ["Mistake", "mistakes"]

# How far-fetched each is, 1 for the commonest: an address set wrong. Common practice, no source.
ONE_OFF = SILENT = 0.9
ADDRESS, ASTRIDE = 1.0, 1.5
MODE = LINE = SWAPPED = 1.1
PORTS = REVERSED = 1.2
ROW = SHIFTED = 1.3
MANY = 0.1  # more for each doubling of the units it concerns

Real = dict[str, Fixture]


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing that may be wrong. real: every unit it concerns as it would be set and wired, by id.

    kind: one word. cost: how far-fetched. words: what is wrong. proof: how a person sees that it is so.
    """

    kind: str
    real: Mapping[str, Fixture]
    cost: float
    words: Said
    proof: Said


def mistakes(
    asked: Asked, profiles: Mapping[str, Profile], needs: Needs, wrong: Sequence[str]
) -> list[Mistake]:
    """Everything known here that would by itself make one or more of these units answer as they did.

    wrong: ids of units that did not answer as patched.

    None contradicts what was seen of a unit it concerns; what concerns several explains at least two. The
    likeliest first; of those that come to the same only the first.
    """
    suspects = [asked.fixtures[unit] for unit in wrong]

    def fits(real: Mapping[str, Fixture]) -> bool:
        known = ((unit, as_set) for unit, as_set in real.items() if unit in needs)
        return all(asked.lights(f, ask) == lit for unit, f in known for ask, lit in needs[unit].items())

    found: list[Mistake] = []
    for suspect in suspects:
        alone = [one for one in _of_one(suspect, asked, profiles, needs) if fits(one.real)]
        found += alone or [one for one in _astride(suspect, asked, profiles, needs) if fits(one.real)]
    for one in _of_several(asked, suspects):
        if sum(f.id in one.real for f in suspects) > 1 and fits(one.real):
            found.append(one)
    # What concerns fewer units is likelier where both explain the same: it would be chance to ask just those.
    found = [replace(one, cost=one.cost + MANY * log2(len(one.real))) for one in found]
    found.sort(key=lambda one: one.cost)
    return list({tuple(one.real.items()): one for one in reversed(found)}.values())[::-1]


def _of_one(
    suspect: Fixture, asked: Asked, profiles: Mapping[str, Profile], needs: Needs
) -> Iterator[Mistake]:
    universe, address = suspect.universe, suspect.address
    # Where a unit that was never seen lit listens, nobody can know.
    if universe is None or address is None or not any(needs[suspect.id].values()):
        others: list[tuple[int, int, float]] = []
    else:
        number = {address + 1, address - 1, *(address ^ 1 << switch for switch in range(9))}
        others = [(universe, near, ONE_OFF) for near in number]
    answered = [asked.fixtures[ask] for ask, lit in needs[suspect.id].items() if lit]
    others += [(f.universe, f.address, ADDRESS) for f in answered if f.universe and f.address]
    for to, start, cost in others:
        if _room(suspect, profiles, start) and (to, start) != (universe, address):
            yield _address(suspect, to, start, cost)
    for to in {u for f in answered for u in f.universes} - suspect.universes:
        yield Mistake(
            "line", {suspect.id: _moved(suspect, dict.fromkeys(suspect.universes, to))}, LINE,
            Said("{unit} hangs on the line of universe {universe}.", unit=spoken(suspect), universe=to),
            Said("Follow its data cable: it should come from universe {universe}.", universe=universe or 0),
        )  # fmt: skip
    profile = profiles.get(suspect.profile)
    for mode in profile.modes if profile else ():
        if mode.name != suspect.mode:
            yield Mistake(
                "mode", {suspect.id: replace(suspect, mode=mode.name)}, MODE,
                Said("{unit} is set to the mode “{mode}”.", unit=spoken(suspect), mode=mode.name),
                Said("Read the mode on the unit: it should be “{mode}”.", mode=suspect.mode),
            )  # fmt: skip
    yield Mistake(
        "silent", {suspect.id: replace(suspect, universe=None, address=None, starts=())}, SILENT,
        Said("{unit} does not answer at all.", unit=spoken(suspect)),
        Said("Look at its power, its lamp, its data light and the address it shows."),
    )  # fmt: skip


def _astride(
    suspect: Fixture, asked: Asked, profiles: Mapping[str, Profile], needs: Needs
) -> Iterator[Mistake]:
    """Starts at which the unit shows a part of what another one is sent."""
    own = mode_of(suspect, profiles)
    for ask, lit in needs[suspect.id].items():
        other = asked.fixtures[ask]
        mode = mode_of(other, profiles)
        if not lit or own is None or mode is None or other.universe is None or other.address is None:
            continue
        for start in range(max(1, other.address - own.footprint + 1), other.address + mode.footprint):
            if _room(suspect, profiles, start):
                yield _address(suspect, other.universe, start, ASTRIDE)


def _address(suspect: Fixture, universe: int, start: int, cost: float) -> Mistake:
    real = replace(suspect, universe=universe, address=start)
    return Mistake(
        "address", {suspect.id: real}, cost,
        Said("{unit} is set to {universe}.{address}.",
             unit=spoken(suspect), universe=universe, address=start),
        Said("Read the address on the unit: the patch says {universe}.{address}.",
             universe=suspect.universe or 0, address=suspect.address or 0),
    )  # fmt: skip


def _of_several(asked: Asked, suspects: Sequence[Fixture]) -> Iterator[Mistake]:
    patched = [f for f in asked.fixtures.values() if f.universe is not None]
    for one, other in combinations([f for f in suspects if f.universe is not None], 2):
        yield Mistake(
            "swapped", {one.id: _as(one, other), other.id: _as(other, one)}, SWAPPED,
            Said("{one} and {other} have each other's address.", one=spoken(one), other=spoken(other)),
            Said("Read both addresses on the units, or swap their labels or their cables."),
        )  # fmt: skip
    lines = sorted({u for f in patched for u in f.universes})
    for one_line, other_line in combinations(lines, 2):
        both = {one_line: other_line, other_line: one_line}
        on = {f.id: _moved(f, both) for f in patched if f.universes & both.keys()}
        yield Mistake(
            "ports", on, PORTS,
            Said("Universes {one} and {other} are swapped.", one=one_line, other=other_line),
            Said("Follow the two cables from the node's ports, or read which universe each port sends."),
        )  # fmt: skip
    for position in {f.position for f in suspects if f.position}:
        yield from _of_row(
            position, by_hanging(f for f in asked.fixtures.values() if f.position == position), lines
        )


def _of_row(position: str, row: Sequence[Fixture], lines: Sequence[int]) -> Iterator[Mistake]:
    for here in sorted({u for f in row for u in f.universes}):
        for to in lines:
            if to != here:
                yield Mistake(
                    "row", {f.id: _moved(f, {here: to}) for f in row if here in f.universes}, ROW,
                    Said("{position} hangs on the line of universe {to}, not {here}.",
                         position=position, to=to, here=here),
                    Said("Follow the data cable of {position} back to the node.", position=position),
                )  # fmt: skip
    count = Said(
        "Count the units of {position} from both ends, and read the address on the first.", position=position
    )
    yield Mistake(
        "reversed", {f.id: _like(f, other) for f, other in zip(row, reversed(row), strict=True)}, REVERSED,
        Said("The units of {position} are counted from the other end.", position=position), count,
    )  # fmt: skip
    early = Said("The units of {position} answer one too early.", position=position)
    late = Said("The units of {position} answer one too late.", position=position)
    for by, words in ((1, early), (-1, late)):
        real = dict(zip((f.id for f in row), _shifted(row, by), strict=True))
        yield Mistake("shifted", real, SHIFTED, words, count)


def _shifted(row: Sequence[Fixture], by: int) -> Iterator[Fixture]:
    for at, fixture in enumerate(row):
        there = 0 <= at - by < len(row)
        yield (
            _like(fixture, row[at - by])
            if there
            else replace(fixture, universe=None, address=None, starts=())
        )


def _as(fixture: Fixture, other: Fixture) -> Fixture:
    return replace(fixture, universe=other.universe, address=other.address, starts=other.starts)


def _like(fixture: Fixture, other: Fixture) -> Fixture:
    """Where the label of `fixture` is, `other` hangs as it is patched."""
    return replace(other, id=fixture.id, channel=fixture.channel, unit=fixture.unit, purpose=fixture.purpose)


def _moved(fixture: Fixture, lines: Mapping[int, int]) -> Fixture:
    first = fixture.universe
    starts = tuple(replace(s, universe=lines.get(s.universe, s.universe)) for s in fixture.starts)
    return replace(fixture, universe=None if first is None else lines.get(first, first), starts=starts)


def _room(suspect: Fixture, profiles: Mapping[str, Profile], start: int) -> bool:
    mode = mode_of(suspect, profiles)
    return mode is not None and 1 <= start <= last_start(mode.footprint)
