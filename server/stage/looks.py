"""What of the stage goes into a look."""

from collections.abc import Iterable, Mapping

from server.rig.profile import Control, Function, ModeMaster
from server.stage.state import State

__all__ = ["capture", "in_hand", "keepable", "values_that_differ"]


def capture(state: State, fixtures: Iterable[str]) -> dict[str, dict[str, int]]:
    """Raw values now asked for, by fixture id and control key, as far as a look may hold them."""
    return keepable(state, {f: state.asked(f, mode) for f in fixtures if (mode := state.mode(f)) is not None})


def in_hand(state: State, look: str, person: str) -> dict[str, dict[str, int]]:
    """What that look would hold with what this person has in hand, by fixture id and control key.

    Of a fixture that is in it already, what their hand has set; one that is not comes whole.
    """
    values = dict(state.looks[look].values)
    held = [fixture for fixture, holder in state.holders.items() if holder == person]
    new = {f: mode for f in held if f not in values and (mode := state.mode(f)) is not None}
    set_ = {f: state.hand.get(f, {}) for f in held if f in values}
    for fixture, kept in keepable(state, set_).items():
        values[fixture] = {**values[fixture], **kept}
    return values | keepable(state, {f: state.asked(f, mode) for f, mode in new.items()})


def values_that_differ(
    was: Mapping[str, Mapping[str, int]], now: Mapping[str, Mapping[str, int]]
) -> dict[str, dict[str, int]]:
    """Those raw values of `now` that are not in `was`, by fixture id and control key."""
    differ = {
        f: {k: raw for k, raw in kept.items() if was.get(f, {}).get(k) != raw} for f, kept in now.items()
    }
    return {fixture: kept for fixture, kept in differ.items() if kept}


def keepable(state: State, values: Mapping[str, Mapping[str, int]]) -> dict[str, dict[str, int]]:
    """Those of these raw values, by fixture id and control key, that a look may hold.

    Guarded units and controls are left out, and so is a value that could start an action or make light
    flash, by itself or by way of a control that depends on it: a look never puts a lamp out and never
    strobes. Unknown ids and controls are left out.
    """
    kept: dict[str, dict[str, int]] = {}
    for fixture, raws in values.items():
        unit, mode = state.fixtures.get(fixture), state.mode(fixture)
        if unit is None or mode is None or state.guarded(unit):
            continue
        sets_off = [f.mode_master for c in mode.controls for f in c.functions if f.mode_master and _wild(f)]
        there = [(c, raws[c.key]) for c in mode.controls if c.key in raws]
        kept[fixture] = {c.key: raw for c, raw in there if _keeps(c, raw, sets_off)}
    return kept


def _keeps(control: Control, raw: int, sets_off: Iterable[ModeMaster]) -> bool:
    if control.guard is not None or any(_wild(f) for f in control.functions_at(raw)):
        return False
    return not any(m.control == control.key and m.first <= raw <= m.last for m in sets_off)


def _wild(function: Function) -> bool:
    return function.action is not None or function.strobes
