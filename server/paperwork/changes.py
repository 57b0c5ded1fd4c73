"""What a rig file would change: which of its rows are new, which are known, which fixtures it leaves out."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from server.paperwork.csv import Row
from server.paperwork.problems import Problem
from server.rig.patch import Fixture, patch_problem
from server.rig.profile import Profile
from server.rig.universe import OffLimits

__all__ = ["Changes", "changes", "problems_in"]

FIELDS = tuple(name for name in Row.__slots__ if name != "line")


@dataclass(frozen=True, slots=True)
class Changes:
    """Fixtures to add, to change (as they become) and to remove; line of the file by fixture id."""

    added: tuple[Fixture, ...]
    changed: tuple[Fixture, ...]
    removed: tuple[Fixture, ...]
    lines: dict[str, int]


def changes(rows: Iterable[Row], fixtures: Iterable[Fixture], new_id: Callable[[], str]) -> Changes:
    """Compare a file with the rig. The file is the whole rig: what it does not name is removed.

    A row is a known fixture when position and unit are the same; else when the channel is the same and
    only one fixture answers to it. Everything else about a known fixture may change and keeps its id.
    """
    known = {f.id: f for f in fixtures}
    left = dict(known)
    added, changed, lines = [], [], {}
    for row in rows:
        before = _match(row, left)
        fields = {name: getattr(row, name) for name in FIELDS}
        if before is None:
            after = Fixture(id=new_id(), **fields)
            added.append(after)
        else:
            del left[before.id]
            after = replace(before, **fields)
            if after != before:
                changed.append(after)
        lines[after.id] = row.line
    return Changes(tuple(added), tuple(changed), tuple(left.values()), lines)


def _match(row: Row, fixtures: Mapping[str, Fixture]) -> Fixture | None:
    if row.position and row.unit:
        same_place = [f for f in fixtures.values() if (f.position, f.unit) == (row.position, row.unit)]
        if same_place:
            return same_place[0]
    same_channel = [f for f in fixtures.values() if row.channel is not None and f.channel == row.channel]
    return same_channel[0] if len(same_channel) == 1 else None


def problems_in(
    found: Changes,
    fixtures: Iterable[Fixture],
    profiles: Mapping[str, Profile],
    off_limits: Iterable[OffLimits],
) -> list[Problem]:
    """Every row that cannot be patched as it stands, by line."""
    gone = {f.id for f in (*found.added, *found.changed, *found.removed)}
    there = [f for f in fixtures if f.id not in gone]
    problems = []
    for fixture in (*found.added, *found.changed):
        why = patch_problem(fixture, profiles, there, off_limits)
        if why:
            problems.append(Problem(f"line {found.lines[fixture.id]}", why))
        else:
            there.append(fixture)
    return problems
