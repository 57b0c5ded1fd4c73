"""What of the stage goes into a look."""

from collections.abc import Iterable

from server.rig.profile import Control
from server.stage.state import State

__all__ = ["capture"]


def capture(state: State, fixtures: Iterable[str]) -> dict[str, dict[str, int]]:
    """Raw values now asked for, by fixture id and control key.

    Guarded units and controls are left out, and so is a value that would start an action or make light
    flash: a look never puts a lamp out and never strobes. Unknown ids are left out.
    """
    values: dict[str, dict[str, int]] = {}
    for fixture in fixtures:
        unit, mode = state.fixtures.get(fixture), state.mode(fixture)
        if unit is None or mode is None or state.guarded(unit):
            continue
        asked = state.asked(fixture, mode)
        values[fixture] = {c.key: asked[c.key] for c in mode.controls if _keeps(c, asked[c.key])}
    return values


def _keeps(control: Control, raw: int) -> bool:
    return control.guard is None and not any(f.action or f.strobes for f in control.functions_at(raw))
