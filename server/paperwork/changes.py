"""What a rig file would change: which of its rows are new, which are known, which fixtures it leaves out."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from server.paperwork.csv import Row, Unread
from server.paperwork.identity import unit_uuid
from server.paperwork.problems import Problem
from server.rig.check import Patch
from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.rig.universe import OffLimits, Reserved

__all__ = ["Changes", "changes", "findings_in", "problems_in"]

FIELDS = tuple(n for n in Row.__slots__ if n not in ("silent", "where", "headings", "whole", "cap", "more"))


@dataclass(frozen=True, slots=True)
class Changes:
    """Fixtures to add, to change (as they become) and to remove; place in the file by fixture id.

    stays: known ones that stay as they are, for what the file says of them cannot be read. unsure: why
    nothing is removed: something that cannot be read does not say which unit it is about.
    """

    added: tuple[Fixture, ...]
    changed: tuple[Fixture, ...]
    removed: tuple[Fixture, ...]
    places: dict[str, str]
    stays: tuple[Fixture, ...] = ()
    unsure: bool = False


def changes(
    rows: Iterable[Row],
    fixtures: Iterable[Fixture],
    new_id: Callable[[], str],
    keep: bool = False,
    unread: Sequence[Unread] = (),
) -> Changes:
    """Compare a file with the rig, which it is the whole of: what it does not name is removed, unless `keep`.

    A row is a known fixture when a drawing's own name for it is the same, or position and unit are; else when
    the channel is the same and only one fixture answers to it; else when it has neither and listens where one
    listens, or says the same. Everything else about a known fixture may change and keeps its id; what the
    file is silent about stays. unread: what of the file is no row; a unit that it names stays as it is.
    """
    listed, there = list(rows), list(fixtures)
    known = _matched([*listed, *(each.row for each in unread)], there)
    added, changed, places = [], [], {}
    for at, row in enumerate(listed):
        before = known.get(at)
        if before is None:
            after = Fixture(
                id=new_id(), **_fields(row), cap=1.0 if row.cap is None else row.cap, more=row.more
            )
            added.append(after)
        else:
            after = _changed(before, row)
            if after != before:
                changed.append(after)
        places[after.id] = row.where
    found = {f.id for f in known.values()}
    unsure = any(not each.sure and at not in known for at, each in enumerate(unread, len(listed)))
    removed = () if keep or unsure else tuple(f for f in there if f.id not in found)
    stays = tuple(known[at] for at in range(len(listed), len(listed) + len(unread)) if at in known)
    return Changes(tuple(added), tuple(changed), removed, places, stays, unsure and not keep)


def _fields(row: Row) -> dict[str, Any]:
    return {name: getattr(row, name) for name in FIELDS}


def _changed(before: Fixture, row: Row) -> Fixture:
    fields = {**_fields(row), "cap": before.cap if row.cap is None else row.cap, "more": row.more}
    if not row.whole:
        fields["inverted"] = (*_others(before), *row.inverted)
        fields["more"] = {h: t for h, t in before.more.items() if h not in row.headings} | row.more
    return replace(before, **{name: value for name, value in fields.items() if name not in row.silent})


def _others(fixture: Fixture) -> list[str]:
    """What else than pan and tilt counts the other way: no drawing speaks of it."""
    return [key for key in fixture.inverted if key.partition("/")[0] not in ("Pan", "Tilt")]


Unit = Row | Fixture


def _drawn_as(unit: Unit) -> str | None:
    drawn = (unit.placed.uuid if unit.placed else "") or None
    return unit_uuid(unit.id) if drawn is None and isinstance(unit, Fixture) else drawn


def _named(unit: Unit) -> bool:
    return bool(unit.position and unit.unit)


# What makes two the same, one after the other; None: it has no such thing. Each is tried for all rows first,
# or a row could take the fixture that another one names better.
SAME: tuple[Callable[[Unit], Hashable | None], ...] = (
    _drawn_as,
    lambda u: (u.position, u.unit) if u.position and u.unit else None,
    lambda u: u.channel,
    lambda u: None if _named(u) or u.address is None else (u.universe, u.address, u.profile),
    lambda u: None if _named(u) else (u.position, u.unit, u.channel, u.purpose, u.profile, u.mode),
)
ALONE = SAME[2]  # a channel may repeat, and then names nobody


def _matched(rows: Sequence[Row], fixtures: Iterable[Fixture]) -> dict[int, Fixture]:
    """The fixture that each row is, by the row's place in the list."""
    left = list(fixtures)
    matched: dict[int, Fixture] = {}
    for key in SAME:
        by_key: defaultdict[Hashable, list[Fixture]] = defaultdict(list)
        for fixture in left:
            if (what := key(fixture)) is not None:
                by_key[what].append(fixture)
        for at, row in enumerate(rows):
            same = by_key.get(key(row), []) if at not in matched else []
            if len(same) == 1 or (same and key is not ALONE):
                matched[at] = same.pop(0)
        gone = {fixture.id for fixture in matched.values()}
        left = [fixture for fixture in left if fixture.id not in gone]
    return matched


def findings_in(
    found: Changes,
    fixtures: Iterable[Fixture],
    profiles: Mapping[str, Profile],
    off_limits: Iterable[OffLimits],
    reserved: Iterable[Reserved] = (),
    even_so: bool = False,
    leave_out: bool = False,
) -> tuple[list[Problem], list[Problem]]:
    """What forbids a row to be patched as it stands, and what may be meant, by its place in the file.

    even_so: two units may have one number at one position. leave_out: known units with a problem stay where
    they are, and what comes in has to go with that.
    """
    before, limits, kept = {f.id: f for f in fixtures}, tuple(off_limits), tuple(reserved)
    wrong: dict[str, list[Problem]] = {}
    while True:
        gone = {f.id for f in (*found.added, *found.changed, *found.removed)}
        stuck = wrong.keys() & before.keys() if leave_out else set[str]()
        there = [f for f in before.values() if f.id not in gone or f.id in stuck]
        patch = Patch(there, profiles, limits, kept)
        warnings: list[Problem] = []
        again = {f: problems for f, problems in wrong.items() if f in stuck}
        for fixture in (*found.added, *found.changed):
            if fixture.id in stuck:
                continue
            old = before.get(fixture.id)
            stays = old is not None and (old.position, old.unit) == (fixture.position, fixture.unit)
            said = patch.findings(fixture, even_so or stays)
            place = found.places[fixture.id]
            warnings += [Problem(place, each.why) for each in said if not each.refused]
            if refused := [Problem(place, each.why) for each in said if each.refused]:
                again[fixture.id] = refused
            else:
                patch.add(fixture)
        if not leave_out or again.keys() & before.keys() == stuck:
            listed = (*found.added, *found.changed)
            return [problem for f in listed for problem in again.get(f.id, [])], warnings
        wrong = again


def problems_in(
    found: Changes,
    fixtures: Iterable[Fixture],
    profiles: Mapping[str, Profile],
    off_limits: Iterable[OffLimits],
) -> list[Problem]:
    """Every row that cannot be patched as it stands, by its place in the file."""
    return findings_in(found, fixtures, profiles, off_limits)[0]
