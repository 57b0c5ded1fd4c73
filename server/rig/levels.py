"""From what is asked of each control to the 512 slots of each universe."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.rig.compiled import Bools, Compiled, Floats, Ints
from server.rig.strobe import LIFTED_BELOW_HZ, MOST_HZ, Strobes

__all__ = [
    "UNSET",
    "Beneath",
    "Mixer",
    "flashes_of",
    "intensity_of",
    "lay_slots",
    "light_of",
    "raw_in",
    "settle",
    "slots_of",
]

UNSET = -1  # of a slot nobody set by hand
MOST = int(MOST_HZ)


@dataclass(frozen=True, slots=True)
class Beneath:
    """What a console drives beneath us, by row.

    raw: its values. share: 0..1, how much of each control is its own; between, it is fading there. passed:
    those that nothing of ours acts on: no cap, no guard, no flash limit. loose: also those that are held
    still at what it had set. alone: colours that no virtual intensity scales.
    """

    raw: Floats
    share: Floats
    passed: Bools
    loose: Bools
    alone: Bools


@dataclass(frozen=True, slots=True)
class Mixer:
    """What acts on the whole rig. master: 0..1.

    frozen: (rows,) the raw value a control is held at while hands are on the fixture, NaN elsewhere.
    armed: (rows,) guarded controls that may be driven just now. flashing: (fixtures,) those somebody asked by
    press-and-hold to flash. lifted: index of the one fixture that may flash faster than the rest, or -1.
    room: flashes a second that are left for all others together. beneath: None where no console is followed.
    """

    master: float
    blackout: bool
    frozen: Floats
    armed: Bools
    flashing: Bools
    lifted: int = -1
    room: int = MOST
    beneath: Beneath | None = None


def settle(rig: Compiled, asked: Floats, mixer: Mixer) -> Ints:
    """The raw value of every control as it leaves.

    asked: (rows,) raw values, fades included, not rounded. Returns (rows,) whole numbers 0..maximum.
    In this order: rig master, the fixture's cap, blackout, what a console sends where it is followed, the
    virtual intensity's scaling, hands-on freeze, guards, and what flashes by itself held steady unless it was
    asked for, is slow enough, and leaves the rig at three flashes a second. Fixtures marked as work light
    know neither master nor blackout.
    """
    value = asked.copy()
    if mixer.master < 1:
        value[rig.mastered] *= mixer.master
    if len(rig.capped):
        value[rig.capped] = np.minimum(value[rig.capped], rig.limit)
    if mixer.blackout:
        value[rig.dark] = 0
    scaled, guards = rig.scaled, rig.guards
    if (beneath := mixer.beneath) is not None:
        value += (beneath.raw - value) * beneath.share
        scaled, guards = scaled[~beneath.alone[scaled]], guards[~beneath.loose[guards]]
    if len(scaled):
        masters = rig.scaler[scaled]
        value[scaled] *= value[masters] / rig.maximum[masters]
    np.copyto(value, mixer.frozen, where=~np.isnan(mixer.frozen))
    if len(guards):
        pinned = guards[~mixer.armed[guards]]
        value[pinned] = rig.safe[pinned]
    raw = np.floor(value + 0.5).astype(np.int64)
    return _steadied(rig.strobes, raw, mixer)


def flashes_of(rig: Compiled, raw: Ints, lifted: int, passed: Bools | None = None) -> int:
    """Flashes in any one second that fixtures make by themselves at these raw values, but for that one.

    passed: (rows,) that a console drives; what only these do is its own.
    """
    rates = _rates(rig.strobes, raw, passed)
    return int(np.ceil(rates[rig.strobes.fixture != lifted]).sum())


def _rates(strobes: Strobes, raw: Ints, passed: Bools | None) -> Floats:
    rates = strobes.rates(raw)
    return rates if passed is None else np.where(passed[strobes.row] & passed[strobes.by], 0.0, rates)


def _steadied(strobes: Strobes, raw: Ints, mixer: Mixer) -> Ints:
    if not len(strobes.row):
        return raw
    rates = _rates(strobes, raw, mixer.beneath.passed if mixer.beneath else None)
    if not rates.any():
        return raw
    free = strobes.fixture == mixer.lifted
    slow = np.where(free, rates < LIFTED_BELOW_HZ, rates <= MOST_HZ)
    may = mixer.flashing[strobes.fixture] & slow
    spent = np.cumsum(np.where(may & ~free, np.ceil(rates), 0.0))
    wrong = (rates > 0) & ~(may & (free | (spent <= mixer.room)))
    raw[strobes.pin[wrong]] = strobes.steady[wrong]
    return raw


def slots_of(rig: Compiled, raw: Ints, by_hand: NDArray[np.int16]) -> NDArray[np.uint8]:
    """The slots of every universe, (universes, 512).

    raw: (rows,) as `settle` gives them. by_hand: (universes, 512) levels 0-255 set on bare slots, UNSET
    elsewhere; slots that belong to a fixture do not look at it. Coarse byte first (GDTF Offset). Slots that
    are off limits stay at 0, last of all and whatever lies on them.
    """
    frame, set_by_hand = np.zeros(by_hand.shape, np.uint8), by_hand != UNSET
    if set_by_hand.any():
        np.copyto(frame, by_hand.astype(np.uint8), where=set_by_hand & (rig.owned < 0))
    lay_slots(rig, raw, frame)
    frame[rig.pinned] = 0
    return frame


def lay_slots(rig: Compiled, raw: Ints, frame: NDArray[np.uint8]) -> None:
    """Put every control into its slots in `frame`, (universes, 512). raw: (rows,) as `settle` gives them."""
    if len(rig.turned):
        raw = raw.copy()
        raw[rig.turned] = rig.maximum[rig.turned] - raw[rig.turned]
    frame.reshape(-1)[rig.slot_at] = (raw[rig.slot_row] >> rig.slot_shift) & 0xFF


def raw_in(rig: Compiled, slots: NDArray[np.uint8]) -> Floats:
    """(rows,) the raw value of every control as it lies in these slots, NaN where it has none.

    slots: (universes, 512). What `slots_of` does, the other way round.
    """
    raw = np.zeros(len(rig.names))
    np.add.at(raw, rig.slot_row, slots.reshape(-1)[rig.slot_at] * 2.0**rig.slot_shift)
    turned = np.where(rig.inverted, rig.maximum - raw, raw)
    return np.where(np.isin(np.arange(len(raw)), rig.slot_row), turned, np.nan)


def light_of(rig: Compiled, raw: Ints) -> Floats:
    """How much light each fixture is asked for as it leaves: (fixtures,) 0..1, in the order of `rig.span`.

    Its intensity, times its strongest additive emitter, times its weakest filter, times how far its shutters
    are open. Enough to see it flash, whichever of these is used for it; no photometry.
    """
    if not len(rig.starts):
        return np.zeros(0)
    share, gate = raw / rig.maximum, np.ones(len(raw))
    coarse = raw[rig.shutters] * 256 // (rig.maximum[rig.shutters].astype(np.int64) + 1)
    gate[rig.shutters] = rig.openness[rig.opens, coarse]
    return (
        np.maximum.reduceat(np.where(rig.lights, share, rig.level_rest), rig.starts)
        * np.maximum.reduceat(np.where(rig.emits, share, rig.colour_rest), rig.starts)
        * np.maximum.reduceat(np.where(rig.filters, 1 - share, rig.filter_rest), rig.starts)
        * np.minimum.reduceat(gate, rig.starts)
    )


def intensity_of(rig: Compiled, raw: Ints) -> Floats:
    """How far each fixture is up as it leaves: (fixtures,) 0..1, in the order of `rig.span`."""
    share = np.where(rig.shows, raw / rig.maximum, 0.0)
    return np.maximum.reduceat(share, rig.starts) if len(rig.starts) else share
