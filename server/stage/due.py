"""What the clock alone brings about: arming that ends, a blackout everybody has agreed to."""

from server.stage.events import BlackoutSet, DarkEnded, Disarmed, Event, FlashLifted, ShoutsOver
from server.stage.shout import FORGOTTEN_S, SHOUT_S
from server.stage.state import State
from server.stage.taught_levels import all_at_zero

__all__ = ["COUNTDOWN_S", "due"]

COUNTDOWN_S = 5.0  # from the call to the dark at the least, however quickly everybody says yes
REFUSED_S = 30.0  # so long the answer "not yet" stays on the phones


def due(state: State, now: float) -> list[Event]:
    """What happens by itself at `now` (wall-clock seconds). A clock set back ends what it cannot measure."""
    happened: list[Event] = [
        Disarmed("", fixture) for fixture, a in state.armed.items() if not a.since <= now < a.until
    ]
    if state.lifted is not None and not state.lifted.since <= now < state.lifted.until:
        happened.append(FlashLifted("", None))
    if (held := state.teaching) is not None and held.look >= 0 and not held.since <= now < held.until:
        happened += all_at_zero(state, "")
    return [*happened, *_dark(state, now), *_over(state, now)]


def _over(state: State, now: float) -> list[Event]:
    """Calls that everybody has seen, after a while; those that nobody sees, after longer."""
    over = [
        number
        for number, shout in state.shouts.items()
        if not 0 <= now - shout.at < (SHOUT_S if set(shout.to) <= set(shout.seen) else FORGOTTEN_S)
    ]
    return [ShoutsOver("", tuple(over))] if over else []


def _dark(state: State, now: float) -> list[Event]:
    dark = state.dark
    if dark is None:
        return []
    if dark.refused is not None or now < dark.at:
        return [DarkEnded("")] if not 0 <= now - dark.at < REFUSED_S else []
    if now - dark.at >= COUNTDOWN_S and set(state.aloft) <= set(dark.agreed):
        return [BlackoutSet(dark.person, True), DarkEnded(dark.person)]
    return []
