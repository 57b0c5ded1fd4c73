"""States and packs to test hand-overs with."""

from dataclasses import replace
from typing import Any

from server.paperwork.handover import Pack, pack_of
from server.rig.profile import Range
from server.stage.focus import Focus, FocusNote
from server.stage.found import Case, FaultStep, Photo, Round, Verdict
from server.stage.state import Look, OutOfUse, Person, Show, State
from tests.rigs import control, function, mode, profile, state_with, unit

__all__ = ["AT", "packed", "worked"]

AT = 1_795_600_000.0
PAN = replace(function("Pan", 0, 65535), physical=(-270.0, 270.0), unit="Angle")
MOVER = profile("mover", mode("4-slot", control("Dimmer", 1), control("Pan", 2, 3, functions=(PAN,))))
ZOOM = replace(function("Zoom"), ranges=(Range("wide", 0, 255),))
PLAIN = profile("plain", mode("2-slot", control("Dimmer", 1), control("Zoom", 2, functions=(ZOOM,))))


def worked() -> State:
    """A show at the end of a day: focused, checked, with faults, photos, looks and a unit out of use."""
    state = state_with(
        unit("a", "mover", mode="4-slot", channel=1, position="LX 1", unit="1", address=1),
        unit("b", "plain", mode="2-slot", channel=2, position="LX 1", unit="2", address=11),
        unit("c", "plain", mode="2-slot", channel=3, position="Boom", unit="1", address=21),
    )
    state.profiles |= {"mover": MOVER, "plain": PLAIN}
    state.show = Show("The Salt Ferry", "Marrow Street Playhouse")
    state.people["mo"] = Person("mo", "Mo", "lead", "")
    state.order = ("a", "b", "c")
    note = FocusNote(spot="2 m SL", words="=off the border")
    state.focus = {"a": Focus(None, "done", "Kit", AT, note, {"Dimmer": 255, "Pan": 0})}
    state.looks = {
        "one": Look("one", "Preset", {"a": {"Dimmer": 128, "Pan": 65535}, "b": {"Dimmer": 51, "Zoom": 10}}),
        "two": Look("two", "@Night", {"c": {"Dimmer": 0}}),
    }
    state.baseline = "one"
    opened = FaultStep("opened", "mo", "Mo", AT, "Yoke bent")
    where: dict[str, Any] = {"show": "The Salt Ferry", "venue": "Marrow Street Playhouse", "reason": ""}
    state.cases = {
        1: Case(1, "b", 2, "LX 1", "2", "Plain", words="Yoke bent", steps=(opened,), **where),
        2: Case(
            2, "a", 1, "LX 1", "1", "Mover", words="Noisy", **where,
            steps=(opened, replace(opened, what="fixed"), replace(opened, what="verified")),
        ),
    }  # fmt: skip
    state.rounds = {1: Round(1, AT, "Mo", 0.3)}
    seen: dict[str, Any] = {"person": "mo", "name": "Mo", "at": AT, "level": 0.3, "position": "LX 1"}
    state.verdicts = {
        1: {
            "a": Verdict(works=True, channel=1, unit="1", **seen),
            "b": Verdict(works=False, channel=2, unit="2", reason="weak", note="lamp?", **seen),
        }
    }
    state.photos = {"p1": Photo("a", "mo", "Mo", AT, 100), "p2": Photo("a", "mo", "Mo", AT + 1, 100)}
    state.out_of_use = {"c": OutOfUse("mo", "clamp is loose", {})}
    return state


def packed(state: State | None = None, at: float = AT) -> Pack:
    """What that show hands over."""
    return pack_of(state or worked(), at, "Mo")
