"""Going through the rig: in which order, what comes next for whom, how far it is, and how long it takes."""

import re
from collections.abc import Iterable, Iterator
from itertools import pairwise
from statistics import fmean

from server.rig.patch import Fixture
from server.stage.found import Checking
from server.stage.holds import in_other_hands
from server.stage.state import State

__all__ = ["checkable", "following", "in_scope", "left_s"]

LONGEST_GAP_S = 180.0  # between two verdicts; longer is a break, not the pace
NEWEST = 20  # verdicts of each person that the pace is taken from


def checkable(state: State, person: str, unit: Fixture) -> bool:
    """Whether a rig check brings that person to that unit.

    Not to what has no address, is guarded, out of use, work light for others than the lead, or for house
    staff no house fixture.
    """
    role = state.people[person].role
    mine = unit.house if role == "house" else not unit.work_light or role == "lead"
    there = unit.address is not None and state.mode(unit.id) is not None
    return mine and there and unit.id not in state.out_of_use and not state.guarded(unit)


def in_scope(state: State, person: str, check: Checking) -> list[str]:
    """The fixtures that somebody goes through, in their order."""
    places = {unit.position: None for unit in state.fixtures.values()}
    at = {place: number for number, place in enumerate(places)}
    units = [u for u in state.fixtures.values() if checkable(state, person, u)]
    match check.order:
        case "universe":
            chosen = (u for u in units if check.where in ("", str(u.universe)))
            return [u.id for u in sorted(chosen, key=lambda u: (u.universe or 0, u.address or 0))]
        case "channel":
            return [u.id for u in sorted(units, key=lambda u: (u.channel is None, u.channel or 0))]
    chosen = (u for u in units if check.where in ("", u.position))
    return [u.id for u in sorted(chosen, key=lambda u: (at[u.position], _natural(u.unit)))]


def _natural(unit: str) -> list[tuple[int, str]]:
    """Unit 2 hangs before unit 10."""
    return [(int(part) if part.isdigit() else 0, part) for part in re.findall(r"[0-9]+|[^0-9]+", unit)]


def following(
    state: State, person: str, check: Checking, now: float, back: bool = False, stay: bool = False
) -> tuple[str | None, tuple[str, ...]]:
    """The next unit for that person (None: there is none), and what is skipped because others have it.

    back: the one before, whether it has a verdict or not. stay: where they are, if that is possible.
    """
    units, skipped = in_scope(state, person, check), list[str]()
    for fixture in _from(units, check.fixture, back, stay, check.unproved):
        chosen = back or (stay and fixture == check.fixture)
        if check.unproved and not chosen and fixture in state.judged:
            continue
        if in_other_hands(state, person, fixture, now) is not None:
            skipped.append(fixture)
            continue
        return fixture, tuple(skipped)
    return None, tuple(skipped)


def _from(units: list[str], fixture: str | None, back: bool, stay: bool, round_again: bool) -> Iterable[str]:
    if fixture not in units:
        return reversed(units) if back else units
    at = units.index(fixture)
    if back:
        return reversed(units[:at])
    after = units[at + (not stay) :]
    return [*after, *units[:at]] if round_again else after


def left_s(state: State, units: Iterable[str]) -> float | None:
    """Seconds until these have a verdict, at the pace so far of those who check now; None: not known yet."""
    open_ = sum(fixture not in state.judged for fixture in units)
    paces = {person: fmean(gaps) for person in state.people if (gaps := list(_gaps(state, person)))}
    if not open_:
        return 0.0
    if not paces:
        return None
    usual = fmean(paces.values())
    at_it = [p for p, check in state.checking.items() if not check.ended and p not in state.gone]
    a_second = sum(1 / max(paces.get(person, usual), 0.1) for person in at_it) or 1 / max(usual, 0.1)
    return open_ / a_second


def _gaps(state: State, person: str) -> Iterator[float]:
    times = sorted(v.at for v in state.judged.values() if v.person == person)[-NEWEST:]
    yield from (later - sooner for sooner, later in pairwise(times) if later - sooner <= LONGEST_GAP_S)
