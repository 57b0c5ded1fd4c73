"""What a rig file would change: which of its rows are new, which are known, which fixtures it leaves out."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from server.paperwork.csv import Row
from server.paperwork.identity import unit_uuid
from server.paperwork.problems import Problem
from server.rig.check import patch_problem
from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.rig.universe import OffLimits

__all__ = ["Changes", "changes", "problems_in"]

FIELDS = tuple(name for name in Row.__slots__ if name not in ("silent", "where"))


@dataclass(frozen=True, slots=True)
class Changes:
    """Fixtures to add, to change (as they become) and to remove; place in the file by fixture id."""

    added: tuple[Fixture, ...]
    changed: tuple[Fixture, ...]
    removed: tuple[Fixture, ...]
    places: dict[str, str]


def changes(rows: Iterable[Row], fixtures: Iterable[Fixture], new_id: Callable[[], str]) -> Changes:
    """Compare a file with the rig. The file is the whole rig: what it does not name is removed.

    A row is a known fixture when a drawing's own name for it is the same, or position and unit are; else when
    the channel is the same and only one fixture answers to it. Everything else about a known fixture may
    change and keeps its id; what the file is silent about stays.
    """
    known = {f.id: f for f in fixtures}
    left = dict(known)
    drawn = {(f.placed.uuid if f.placed else "") or unit_uuid(f.id): f.id for f in known.values()}
    added, changed, places = [], [], {}
    for row in rows:
        before = left.get(drawn.get(row.placed.uuid, "")) if row.placed else None
        before = before or _match(row, left)
        fields = {name: getattr(row, name) for name in FIELDS}
        if before is None:
            after = Fixture(id=new_id(), **fields)
            added.append(after)
        else:
            del left[before.id]
            fields["inverted"] = (*_others(before), *row.inverted)
            after = replace(before, **{n: value for n, value in fields.items() if n not in row.silent})
            if after != before:
                changed.append(after)
        places[after.id] = row.where
    return Changes(tuple(added), tuple(changed), tuple(left.values()), places)


def _match(row: Row, fixtures: Mapping[str, Fixture]) -> Fixture | None:
    if row.position and row.unit:
        same_place = [f for f in fixtures.values() if (f.position, f.unit) == (row.position, row.unit)]
        if same_place:
            return same_place[0]
    same_channel = [f for f in fixtures.values() if row.channel is not None and f.channel == row.channel]
    return same_channel[0] if len(same_channel) == 1 else None


def _others(fixture: Fixture) -> list[str]:
    """What else than pan and tilt counts the other way: no file speaks of it."""
    return [key for key in fixture.inverted if key.partition("/")[0] not in ("Pan", "Tilt")]


def problems_in(
    found: Changes,
    fixtures: Iterable[Fixture],
    profiles: Mapping[str, Profile],
    off_limits: Iterable[OffLimits],
) -> list[Problem]:
    """Every row that cannot be patched as it stands, by its place in the file."""
    gone = {f.id for f in (*found.added, *found.changed, *found.removed)}
    there = [f for f in fixtures if f.id not in gone]
    problems = []
    for fixture in (*found.added, *found.changed):
        why = patch_problem(fixture, profiles, there, off_limits)
        if why:
            problems.append(Problem(found.places[fixture.id], why))
        else:
            there.append(fixture)
    return problems
