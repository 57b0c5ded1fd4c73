"""Two hand-over packs compared: what hangs, listens, is broken and looks otherwise than the last time."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass

from server.paperwork.handover import Pack, UnitThen, label

__all__ = ["Compared", "Difference", "compare"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One unit, as people call it now (or called it then, where it is gone), and what was and is."""

    unit: str
    was: str = ""
    now: str = ""


@dataclass(frozen=True, slots=True)
class Compared:
    """What is different. moved: hangs elsewhere, or is called by another channel. retyped: another type or
    mode. still, over, new: faults that were open both times, only then, only now. looks: by name, the units
    that they ask something else of.
    """

    added: tuple[Difference, ...] = ()
    gone: tuple[Difference, ...] = ()
    moved: tuple[Difference, ...] = ()
    readdressed: tuple[Difference, ...] = ()
    retyped: tuple[Difference, ...] = ()
    still: tuple[Difference, ...] = ()
    over: tuple[Difference, ...] = ()
    new: tuple[Difference, ...] = ()
    looks: tuple[tuple[str, tuple[str, ...]], ...] = ()


def compare(then: Pack, now: Pack) -> Compared:
    """What is otherwise now. A pack compared with itself differs in nothing."""
    same = _matched(then.units, now.units)
    were, left = {unit.id: unit for unit in then.units}, set(same.values())
    pairs = [(were[same[unit.id]], unit) for unit in now.units if unit.id in same]

    def differing(what: Callable[[UnitThen], str]) -> tuple[Difference, ...]:
        return tuple(Difference(label(n), what(w), what(n)) for w, n in pairs if what(w) != what(n))

    broken_then = {fault.fixture: fault.words for fault in then.faults}
    broken_now = {fault.fixture: fault.words for fault in now.faults}
    faulty = [(n, broken_then.get(same.get(n.id, "")), broken_now.get(n.id)) for n in now.units]
    return Compared(
        added=tuple(Difference(label(n), "", _type(n)) for n in now.units if n.id not in same),
        gone=tuple(Difference(label(w), _type(w)) for w in then.units if w.id not in left),
        moved=differing(label),
        readdressed=differing(lambda unit: ", ".join(unit.starts)),
        retyped=differing(_type),
        still=tuple(Difference(label(n), was, words) for n, was, words in faulty if was and words),
        over=tuple(Difference(label(n), was) for n, was, words in faulty if was and not words),
        new=tuple(Difference(label(n), "", words) for n, was, words in faulty if words and not was),
        looks=tuple(_looks(then, now, same)),
    )


def _type(unit: UnitThen) -> str:
    return f"{unit.type}, {unit.mode}"


def _looks(then: Pack, now: Pack, same: dict[str, str]) -> Iterable[tuple[str, tuple[str, ...]]]:
    """Looks of the same name. Units that are new or gone are told as such already."""
    were, units = {look.name: look.units for look in then.looks}, {unit.id: unit for unit in now.units}
    for look in now.looks:
        before = were.get(look.name)
        if before is None:
            continue
        other = [
            label(units[i])
            for i, was in ((i, same[i]) for i in units if i in same)
            if look.units.get(i) != before.get(was)
        ]
        if other:
            yield look.name, tuple(other)


def _matched(then: Iterable[UnitThen], now: Iterable[UnitThen]) -> dict[str, str]:
    """Which unit of then each of now is, by id: by identity, else by where it hangs, else by its channel.

    Another show of the venue knows its units by other identities. A place or channel of two units says
    nothing.
    """
    found: dict[str, str] = {}
    here, there = {unit.id: unit for unit in now}, {unit.id: unit for unit in then}
    keys: tuple[Callable[[UnitThen], Hashable | None], ...] = (
        lambda unit: unit.id,
        lambda unit: (unit.position, unit.unit) if unit.position and unit.unit else None,
        lambda unit: unit.channel,
    )
    for key in keys:
        mine, theirs = _single(here.values(), key), _single(there.values(), key)
        for value in mine.keys() & theirs.keys():
            found[mine[value].id] = theirs[value].id
            del here[mine[value].id], there[theirs[value].id]
    return found


def _single(
    units: Iterable[UnitThen], key: Callable[[UnitThen], Hashable | None]
) -> dict[Hashable, UnitThen]:
    """Those that alone have a value of that key."""
    by: dict[Hashable, list[UnitThen]] = {}
    for unit in units:
        by.setdefault(key(unit), []).append(unit)
    return {value: same[0] for value, same in by.items() if value is not None and len(same) == 1}
