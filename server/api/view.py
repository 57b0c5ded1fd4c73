"""The state as phones see it: plain JSON objects, one place for their shape."""

import time
from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace

from server.api.check_view import checked
from server.paperwork.profiles import profile_to_json
from server.rig.patch import Fixture
from server.rig.profile import Mode
from server.rig.said import Said
from server.rig.teaching import Step, teach
from server.stage.busy import busy_until, cools_until
from server.stage.due import COUNTDOWN_S
from server.stage.seeking import most_answers, still_breathing, still_left
from server.stage.shared import Shared
from server.stage.state import Person, State

__all__ = [
    "armed_view",
    "call_view",
    "dark_view",
    "fixture_marks",
    "fixture_view",
    "focus_view",
    "fractions",
    "lifted_view",
    "look_view",
    "patch_view",
    "person_view",
    "profile_view",
    "said_view",
    "seek_view",
    "shared_view",
    "shouts_view",
    "slots_view",
    "teaching_view",
]

PATCH = (
    *("id", "channel", "unit", "position", "purpose", "profile", "mode", "universe", "address"),
    *("house", "guarded", "work_light", "notes", "cap", "more"),
)
# Enough digits that every raw value survives raw -> fraction -> raw at that width, and no more.
DIGITS = {1: 4, 2: 6, 3: 9, 4: 11}


def patch_view(fixture: Fixture) -> dict[str, object]:
    """Where it hangs and listens, as the patch calls show it."""
    starts = [asdict(start) for start in fixture.starts]
    placed = fixture.placed and asdict(fixture.placed) | {"rotation": list(fixture.placed.rotation)}
    return {**{name: getattr(fixture, name) for name in PATCH}, "starts": starts, "placed": placed}


def fixture_view(state: State, fixture: Fixture, level: float) -> dict[str, object]:
    """One fixture, whole. level: 0..1 as it leaves."""
    mode = state.mode(fixture.id)
    shown = patch_view(fixture) | {"guarded": state.guarded(fixture)}
    # A drawing's figures and what only the paper needs change nothing that a phone shows.
    del shown["id"], shown["placed"], shown["more"]
    values = fractions(state, fixture.id, mode) if mode else {}
    marks = fixture_marks(state, fixture.id)
    return {**shown, "values": values, **marks, "level": round(level, 4)}


def fixture_marks(state: State, fixture: str) -> dict[str, object]:
    """Who has it in hand, whose hands are on it, whether it is held still or armed, what is wrong.

    busy: seconds left before it takes another action. cools: before its lamp is struck again.
    """
    hands, fault = state.hands_on.get(fixture), state.faults.get(fixture)
    out = state.out_of_use.get(fixture)
    return {
        "holder": state.holders.get(fixture),
        "hands_on": list(hands.people) if hands else [],
        "still": fixture in state.still,
        "armed": armed_view(state, fixture),
        "busy": _left(busy_until(state, fixture)),
        "cools": _left(cools_until(state, fixture)),
        "out_of_use": {"by": out.person, "reason": out.reason} if out else None,
        "fault": fault.words if fault else None,
        "checked": checked(state, fixture),
        "focus": focus_view(state, fixture),
    }


def focus_view(state: State, fixture: str) -> dict[str, object] | None:
    """How far it is in the focus call: its mark and by whom, to whom it is given, what its beam is to do.

    kept: whether its values were kept when it was done. None: nothing is known.
    """
    focus = state.focus.get(fixture)
    if focus is None:
        return None
    shown = {"mark": focus.mark, "given": focus.given, "by": focus.name, "at": focus.at}
    note = {name: text for name, text in asdict(focus.note).items() if text}
    return {**shown, "note": note, "kept": bool(focus.values)}


def shouts_view(state: State) -> list[dict[str, object]]:
    """Calls across the room, each with the seconds since it was made when this was told."""
    now = time.time()
    return [
        {
            **{name: getattr(shout, name) for name in ("number", "person", "name", "what")},
            "to": list(shout.to),
            "seen": list(shout.seen),
            "ago_s": round(max(0.0, now - shout.at), 2),
        }
        for shout in state.shouts.values()
    ]


def call_view(state: State) -> dict[str, object]:
    """What the lead has set for the focus call, by the names of `stage.focus.Call`."""
    return asdict(state.call)


def armed_view(state: State, fixture: str) -> dict[str, object] | None:
    """By whom a guarded unit is armed, for what, until when (the laptop's wall clock), and what is left."""
    armed = state.armed.get(fixture)
    if armed is None:
        return None
    left = {"until": armed.until, "left_s": _left_s(armed.until)}
    return {"by": armed.person, "reason": armed.reason, **left}


def _left_s(until: float) -> float:
    """Seconds from now: what a phone can count down, whatever its own clock says."""
    return round(max(0.0, until - time.time()), 2)


def _left(until: float) -> dict[str, float] | None:
    left_s = _left_s(until)
    return {"left_s": left_s} if left_s > 0 else None


def dark_view(state: State) -> dict[str, object] | None:
    """The blackout that was announced: by whom, when, who said yes, and who said not yet.

    left_s: seconds before which it does not come, whoever says yes.
    """
    dark = state.dark
    if dark is None:
        return None
    said = {"agreed": list(dark.agreed), "refused": dark.refused}
    return {"by": dark.person, "at": dark.at, "left_s": _left_s(dark.at + COUNTDOWN_S), **said}


def lifted_view(state: State) -> dict[str, object] | None:
    """The fixture that may flash faster than the rest, until when (the laptop's wall clock), what is left."""
    lifted = state.lifted
    if lifted is None:
        return None
    return {"fixture": lifted.fixture, "until": lifted.until, "left_s": _left_s(lifted.until)}


def seek_view(state: State) -> dict[str, object] | None:
    """Who looks for the light they stand under, which it may be, which breathe, which were left out."""
    seek = state.seek
    if seek is None:
        return None
    left, breathing = still_left(state), still_breathing(state)
    outside = [fixture for fixture in seek.outside if fixture in state.fixtures]
    far = {"answered": seek.answered, "most": seek.answered + most_answers(len(left))}
    return {"by": seek.person, "left": left, "breathing": breathing, "outside": outside, **far}


def teaching_view(state: State) -> dict[str, object] | None:
    """Who teaches which slots, how many answers there are, and the next step: None when all is known.

    seen: what was seen of each slot of the unit, from 1. fine: fine slot by coarse.
    """
    teaching = state.teaching
    if teaching is None:
        return None
    step, taught = teach(teaching.slots, teaching.answers)
    where = {"universe": teaching.universe, "first": teaching.first, "slots": teaching.slots}
    known: dict[str, object] = {"answered": len(teaching.answers), "flame": taught.flame}
    known["seen"] = {str(slot): seen for slot, seen in taught.seen.items()}
    known["fine"] = {str(coarse): slot for coarse, slot in taught.fine.items()}
    return {"by": teaching.person, **where, **known, "step": step and _step(step)}


def _step(step: Step) -> dict[str, object]:
    asked = {"ask": step.ask, "slot": step.slot, "at": step.at, "choices": list(step.choices)}
    return {**asked, "looks": len(step.looks), "caution": step.caution, "most_s": step.most_s}


def fractions(state: State, fixture: str, mode: Mode, keys: Iterable[str] | None = None) -> dict[str, float]:
    """What is asked of a fixture's controls, as fractions; keys: only these."""
    asked = state.asked(fixture, mode)
    wanted = None if keys is None else set(keys)
    return {
        c.key: round(asked[c.key] / c.maximum, DIGITS[c.width])
        for c in mode.controls
        if wanted is None or c.key in wanted
    }


def person_view(state: State, person: Person, signals: Mapping[str, int]) -> dict[str, object]:
    """Who it is, since when their phone is away (wall-clock seconds), where they are, what they took last.

    signals: milliseconds there and back, by person, as far as a phone has told.
    """
    gone = state.gone.get(person.id)
    shown = {"name": person.name, "role": person.role, "here": gone is None}
    aloft = state.aloft.get(person.id)
    place = {"at": state.last_at.get(person.id), "aloft": aloft.position if aloft else None}
    return {**shown, "gone": gone, **place, "rtt_ms": signals.get(person.id)}


def look_view(state: State, look: str) -> dict[str, object]:
    """What a look is called and how many fixtures are in it."""
    kept = state.looks[look]
    return {"name": kept.name, "fixtures": len(kept.values)}


def slots_view(state: State) -> dict[str, dict[str, object]]:
    """Slot levels set by hand, by universe and slot."""
    return {
        str(universe): {str(slot): {"raw": level.raw, "by": level.person} for slot, level in slots.items()}
        for universe, slots in state.slots.items()
        if slots
    }


def shared_view(shared: Shared) -> dict[str, object]:
    """How a universe is shared with a console."""
    return {"join": shared.join, "follow": shared.follow, "gone": shared.gone}


def said_view(sentence: Said) -> dict[str, object]:
    """A sentence for people, and what it was made from, so that a page can say it in its own language."""
    return {"why": sentence, "said": sentence.parts()}


def profile_view(state: State, key: str) -> dict[str, object]:
    """A profile with only the modes that the rig uses."""
    profile = state.profiles[key]
    used = {f.mode for f in state.fixtures.values() if f.profile == key}
    return profile_to_json(replace(profile, modes=tuple(m for m in profile.modes if m.name in used)))
