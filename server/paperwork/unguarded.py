"""Controls of a draft that must be guarded and are not: whoever draws a profile up cannot leave that out."""

import re

from server.paperwork.chart_words import meaning_of
from server.paperwork.problems import Problem
from server.rig.profile import Control, Profile

__all__ = ["unguarded"]

BY_ATTRIBUTE = {r"Fog\d*$": "fog", r"Haze\d*$": "haze", r"(Fan|Blower)\d+$": "fan", r"LampControl$": "lamp"}
BY_WORDS = {"fog", "haze", "lamp", "power"}
DOES = {
    "fog": "makes fog",
    "haze": "makes haze",
    "fan": "drives a fan",
    "lamp": "works the lamp",
    "power": "switches power",
}


def unguarded(profile: Profile) -> list[Problem]:
    """A problem for each, by mode and control."""
    return [
        Problem(f"mode {mode.name}, {control.key}", f"it {DOES[reason]} and must be guarded")
        for mode in profile.modes
        for control in mode.controls
        if control.guard is None and (reason := _reason(control)) is not None
    ]


def _reason(control: Control) -> str | None:
    for attribute in (control.attribute, *(f.attribute for f in control.functions)):
        for pattern, reason in BY_ATTRIBUTE.items():
            if re.match(pattern, attribute):
                return reason
    kinds = {f.action.kind for f in control.functions if f.action}
    if kinds & {"lamp_on", "lamp_off"}:
        return "lamp"
    names = [f.name for f in control.functions] if len(control.functions) == 1 else []
    meanings = (meaning_of(name) for name in names)
    return next((m.guard for m in meanings if m and m.guard in BY_WORDS), None)
