"""What the hand-over says of a show, as plain rows that travel to the process that draws it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import datetime
from typing import Any, TypedDict

from server.paperwork.handover import Pack, UnitThen, checksum, label
from server.rig.patch import Fixture, starts_of
from server.rig.plan import by_hanging
from server.stage.check import checkable
from server.stage.focus import Focus, FocusNote
from server.stage.found import Photo
from server.stage.reasons import reason_words
from server.stage.state import Change, State
from server.stage.turn import mark_of

__all__ = ["PHOTOS_MOST", "Handed", "handed", "newest_photos"]

PHOTOS_MOST = 16 * 2**20  # octets of pictures in one paper: some 100 as phones send them


class Handed(TypedDict):
    """Rows of text, in the order in which units hang. At the front of each is the position.

    there: name and role. baseline: name, fixtures and checksum. focused: channel, unit, purpose, mark, by
    whom and when; and its notes by the names of a FocusNote. photos: caption, and the JPEG in Base64; left:
    how many more there are. round: its number, when, by whom, percent, how many work and how many do not.
    found: channel, unit, what, by. unproved: channel, unit. faults: channel, unit, what, status; and
    when, who, what became of it, in whose words. out: channel, unit, reason, by. since: when the last
    hand-over was. changed: unit, was, is, by. unseen: changes that nobody can list.
    """

    by: str
    there: list[tuple[str, str]]
    baseline: tuple[str, int, str] | None
    focused: list[tuple[list[str], list[tuple[str, str]]]]
    photos: list[tuple[str, str]]
    left: int
    round: dict[str, Any] | None
    found: list[list[str]]
    unproved: list[list[str]]
    faults: list[tuple[list[str], list[tuple[str, str, str, str]]]]
    out: list[list[str]]
    since: str
    changed: list[list[str]]
    unseen: int


def newest_photos(state: State) -> dict[str, str]:
    """By fixture in the rig, the name of the newest photo of it, as they hang."""
    newest: dict[str, str] = {}
    for name, photo in sorted(state.photos.items(), key=lambda one: one[1].at):
        newest[photo.fixture] = name
    return {unit.id: newest[unit.id] for unit in by_hanging(state.fixtures.values()) if unit.id in newest}


def handed(
    state: State,
    person: str,
    there: Iterable[tuple[str, str]],
    now: Pack,
    last: Pack | None,
    pictures: Mapping[str, str],
) -> Handed:
    """All of it. person: who makes it. there: names and roles. last: the hand-over before, of this show.

    pictures: photos in Base64 by fixture, as many as may be printed.
    """
    units = list(by_hanging(state.fixtures.values()))
    changed, unseen = _changed(state, now, last)
    judged, newest = state.judged, newest_photos(state)
    shown = [unit for unit in units if unit.id in newest and unit.id in pictures]
    return Handed(
        by=now.by,
        there=sorted(set(there)),
        baseline=_baseline(state),
        focused=[_focused(state, unit) for unit in units if unit.id in state.focus or unit.id in state.order],
        photos=[(_caption(unit, state.photos[newest[unit.id]]), pictures[unit.id]) for unit in shown],
        left=len(newest) - len(shown),
        round=_round(state),
        found=[_found(state, unit) for unit in units if unit.id in judged and not judged[unit.id].works],
        unproved=[
            _where(unit)
            for unit in units
            if state.round and unit.id not in judged and checkable(state, person, unit)
        ],
        faults=list(_faults(state, units)),
        out=[_out(state, unit) for unit in units if unit.id in state.out_of_use],
        since=_time(last.at) if last else "",
        changed=changed,
        unseen=unseen,
    )


def _time(at: float) -> str:
    return datetime.fromtimestamp(at).astimezone().strftime("%Y-%m-%d %H:%M") if at else ""


def _where(unit: Fixture) -> list[str]:
    return [unit.position, "" if unit.channel is None else str(unit.channel), unit.unit]


def _baseline(state: State) -> tuple[str, int, str] | None:
    look = state.looks.get(state.baseline) if state.baseline else None
    return (look.name, len(look.values), checksum(look.values)) if look else None


def _focused(state: State, unit: Fixture) -> tuple[list[str], list[tuple[str, str]]]:
    focus = state.focus.get(unit.id, Focus())
    notes = [(each.name, text) for each in fields(FocusNote) if (text := getattr(focus.note, each.name))]
    who = f"{focus.name} {_time(focus.at)}".strip()
    return [*_where(unit), unit.purpose, mark_of(state, unit.id), who], notes


def _caption(unit: Fixture, photo: Photo) -> str:
    place = ", ".join(part for part in (unit.position, unit.unit) if part)
    channel = "" if unit.channel is None else f"{unit.channel}: "
    return f"{channel}{place}\n{photo.name}, {_time(photo.at)}"


def _round(state: State) -> dict[str, Any] | None:
    this, seen = state.round, state.judged.values()
    if this is None:
        return None
    works = sum(verdict.works for verdict in seen)
    told = {"number": this.number, "when": _time(this.at), "by": this.name, "level": round(100 * this.level)}
    return {**told, "works": works, "faults": len(seen) - works}


def _found(state: State, unit: Fixture) -> list[str]:
    verdict = state.judged[unit.id]
    return [*_where(unit), reason_words(verdict.reason, verdict.note), f"{verdict.name} {_time(verdict.at)}"]


def _faults(
    state: State, units: Iterable[Fixture]
) -> Iterator[tuple[list[str], list[tuple[str, str, str, str]]]]:
    """Every one that is known: of what hangs here first, then of what hung here in other shows."""
    places = {unit.id: at for at, unit in enumerate(units)}
    cases = state.cases.values()
    for case in sorted(cases, key=lambda case: (places.get(case.fixture, len(places)), case.number)):
        unit = state.fixtures.get(case.fixture)
        channel = "" if case.channel is None else str(case.channel)
        where = _where(unit) if unit else [case.position, channel, case.unit]
        steps = [(_time(step.at), step.name, step.what, step.words) for step in case.steps]
        yield [*where, case.words, case.status], steps
    for fixture, fault in state.faults.items():  # of a show from before there was a register
        if not any(case.fixture == fixture and case.status == "open" for case in cases):
            yield [*_where(state.fixtures[fixture]), fault.words, "open"], []


def _out(state: State, unit: Fixture) -> list[str]:
    out = state.out_of_use[unit.id]
    who = state.people[out.person].name if out.person in state.people else ""
    return [*_where(unit), out.reason, who]


def _changed(state: State, now: Pack, last: Pack | None) -> tuple[list[list[str]], int]:
    """Units that listen elsewhere or otherwise than at the last hand-over, else than in the oldest change."""
    since = last.at if last else 0.0
    before: dict[str, str] = {unit.id: _listens(unit) for unit in last.units} if last else {}
    latest: dict[str, Change] = {}
    unseen = 0
    for _, change in sorted(state.changes.items()):
        if change.at <= since or change.undone:
            continue
        if change.before is None:
            unseen += last is None and "patch" in str(change.what[0])
            continue
        for fixture, was in change.before.fixtures.items():
            latest[fixture] = change
            if was is not None and last is None:
                before.setdefault(fixture, _listened(state, was))
    rows = []
    for unit in now.units:
        then, listens = before.get(unit.id, ""), _listens(unit)
        if then and then != listens:
            done = latest.get(unit.id)
            rows.append([label(unit), then, listens, f"{done.name} {_time(done.at)}" if done else ""])
    return rows, unseen


def _listens(unit: UnitThen) -> str:
    return f"{', '.join(unit.starts) or '-'}\n{unit.type}, {unit.mode}"


def _listened(state: State, unit: Fixture) -> str:
    starts = ", ".join(f"{start.universe}/{start.address}" for start in starts_of(unit))
    profile = state.profiles.get(unit.profile)
    return f"{starts or '-'}\n{profile.name if profile else unit.profile}, {unit.mode}"
