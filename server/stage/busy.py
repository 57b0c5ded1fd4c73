"""Until when a unit is busy with an action, and its lamp has to cool: estimates of its profile."""

from server.rig.profile import Action, Mode
from server.stage.state import State

__all__ = ["busy_until", "cools_until"]


def busy_until(state: State, fixture: str) -> float:
    """Wall-clock seconds until when it takes no other action; 0.0 when nothing was asked of it."""
    acted = state.acted.get(fixture)
    if not acted:
        return 0.0
    asked = ((acted[a.kind], a) for a in _actions(state.mode(fixture)) if a.kind in acted)
    return max((at + action.hold_s + action.busy_s for at, action in asked), default=0.0)


def cools_until(state: State, fixture: str) -> float:
    """Wall-clock seconds before which its lamp is not struck again; 0.0 when it was not put out."""
    off = state.acted.get(fixture, {}).get("lamp_off")
    if off is None:
        return 0.0
    lockouts = (a.lockout_s for a in _actions(state.mode(fixture)) if a.kind == "lamp_off")
    return off + max(lockouts, default=0.0)


def _actions(mode: Mode | None) -> list[Action]:
    return [f.action for c in mode.controls for f in c.functions if f.action] if mode else []
