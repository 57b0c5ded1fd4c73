"""Somebody who stands before a fixture and says truthfully what they see of it.

Written from the profiles alone: slots in, a picture out, and the words for the difference of two pictures.
It knows nothing of how the questions are come by.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from server.rig.profile import Control, Function, Mode, Profile
from server.rig.values import physical_from_raw

__all__ = ["Eye"]

SEEN = 0.02  # of a range: what is noticed on a stage
HAIR = 0.0005  # and what is noticed by who looks for it
FAINTEST = 0.001  # of full light: what the eye still sees in the dark
HUES = {
    "R": "red", "G": "green", "B": "blue", "W": "white", "RY": "amber", "GY": "lime", "GC": "cyan",
    "BM": "indigo", "UV": "ultraviolet", "WW": "warm", "CW": "cold",
}  # fmt: skip
SMOOTH = {
    "Zoom": "size", "Iris": "iris", "ShaperRot": "frame_turns", "ColorSub_C": "less_red",
    "ColorSub_M": "less_green", "ColorSub_Y": "less_blue", "CTO": "warmer", "CTC": "warmer", "Tint": "tint",
    "HSB_Hue": "hue", "HSB_Saturation": "saturation", "BeamShaper": "effect",
}  # fmt: skip
NUMBERED = (
    (r"Focus\d", "edge"), (r"Frost\d", "frost"), (r"Blade\dA", "blade"), (r"Blade\dB", "blade_other"),
    (r"Blade\dRot", "blade_turns"), (r"Gobo\dPos", "picture_turns"), (r"Prism\dPos", "multiplied_turns"),
    (r"Color\d", "colour"), (r"Gobo\d", "picture"), (r"Prism\d", "multiplied"), (r"Effects\d", "effect"),
    (r"ColorMacro\d", "effect"),
)  # fmt: skip
HARM = {"Fog1": "smoke", "Haze1": "haze", "Fan1": "fan", "Fans": "fan"}
BODY = {"Pan": "sideways", "Tilt": "updown"}
NEEDS = {"picture_turns": "picture", "multiplied_turns": "multiplied", "blade_turns": "blade"}
NEEDS |= {"frame_turns": "blade", "hue": "saturation"}
STEPS = ("colour", "picture", "multiplied")


@dataclass(frozen=True)
class Picture:
    """light: brightness by cell and hue. flickers. body, parts: what stands where, by what it is called."""

    light: Mapping[tuple[str, str], float]
    flickers: bool
    body: Mapping[str, float]
    parts: Mapping[tuple[str, str], tuple[str, float]]
    harm: frozenset[str]

    @property
    def lit(self) -> float:
        return sum(self.light.values())


class Eye:
    """Looks at a unit of that mode. Slots count from 1 in the unit."""

    def __init__(self, profile: Profile, mode: Mode) -> None:
        self.profile, self.mode = profile, mode

    def answer(
        self, ask: str, slot: int, looks: tuple[Mapping[int, int], ...], choices: tuple[str, ...]
    ) -> str:
        """What this person says to a question, which is about what the last of these looks changed."""
        seen = [self.picture(look) for look in looks]
        before = seen[0] if len(seen) > 1 else self.picture({})
        after = seen[-1]
        if ask in ("seen", "hair"):
            said = self._seen(before, after, len(seen) == 1, SEEN if ask == "seen" else HAIR)
            if ask == "hair":
                owner = next((c for c in self.mode.controls if slot in c.offsets), None)
                coarse = f"fine {owner.offsets[0]}" if owner and owner.offsets[0] != slot else "else"
                said = "nothing" if said == "nothing" else coarse
            return said if said in choices else "else"
        if ask in ("light", "without"):
            return "flickers" if after.flickers else "on" if after.light else "nothing"
        if ask == "brighter":
            if after.flickers and not before.flickers:
                return "flickers"
            return "brighter" if after.lit > before.lit else "same"
        own = next(c for c in self.mode.controls if slot in c.offsets)
        states = [self._state(own, look) for look in looks]
        if ask == "between":
            return "first" if states[1] == states[0] else "last" if states[1] == states[2] else "third"
        if ask == "step" and states[1] == states[0]:
            return "same"
        return self._called(states[-1][0], choices)

    def _called(self, state: str, choices: tuple[str, ...]) -> str:
        for word in ("flickers", "turns", "passes", "light", "dark", "plain"):
            if state.startswith(word) and word in choices:
                return word
        return "other" if "other" in choices else "light"

    def _raws(self, slots: Mapping[int, int]) -> dict[str, int]:
        raws = {c.key: c.maximum for c in self.mode.controls if not c.offsets}
        for c in self.mode.controls:
            if c.offsets:
                raws[c.key] = int.from_bytes(bytes(slots.get(s, 0) for s in c.offsets))
        return raws

    def _doing(self, control: Control, raws: Mapping[str, int]) -> Function | None:
        return next(iter(self.mode.doing(control, raws)), None)

    def _state(self, control: Control, slots: Mapping[int, int]) -> tuple[str, str]:
        """What a stepping control shows: a word, and which place it is."""
        raws = self._raws(slots)
        return self._place(control, self._doing(control, raws), raws[control.key])

    def _place(self, control: Control, function: Function | None, raw: int) -> tuple[str, str]:
        if function is None or function.attribute == "NoFeature":
            return "plain", ""
        piece = next((r for r in function.ranges if r.first <= raw <= r.last), None)
        if function.strobes:
            return "flickers", ""
        if function.attribute.startswith("Shutter"):
            return ("light" if physical_from_raw(function, raw) > 0.5 else "dark"), ""
        named = piece.name if piece else function.name
        if "Spin" in function.attribute:
            return "passes", ""
        if "Rotate" in function.attribute or "rotating" in named or "shaking" in named.casefold():
            return "turns", named if piece and piece.slot else ""
        if named in ("Open", "Out", "Off", "None", "Clear") or (piece and piece.slot == 1):
            return "plain", ""
        return "in", named

    def picture(self, slots: Mapping[int, int]) -> Picture:
        """What is seen while the slots carry that; those not named carry 0."""
        raws = self._raws(slots)
        shares = {c.key: raws[c.key] / c.maximum for c in self.mode.controls}
        light = {at: level for at, level in self._light(raws, shares).items() if level > FAINTEST}
        body = {BODY[c.attribute]: shares[c.key] for c in self.mode.controls if c.attribute in BODY}
        harm = {HARM[c.attribute] for c in self.mode.controls if c.attribute in HARM and shares[c.key] > 0.02}
        if self.profile.kind == "relay" and any(share > 0.5 for share in shares.values()):
            harm.add("lamp")
        doing = (self._doing(c, raws) for c in self.mode.controls)
        flickers = bool(light) and any(f is not None and f.strobes for f in doing)
        return Picture(light, flickers, body, self._shown(self._parts(raws, shares)), frozenset(harm))

    def _light(self, raws: Mapping[str, int], shares: Mapping[str, float]) -> dict[tuple[str, str], float]:
        """Brightness by cell and hue, 0..1."""
        controls = self.mode.controls
        dims = {c.cell: shares[c.key] for c in controls if c.attribute == "Dimmer"}
        shutters = [c for c in controls if c.attribute.startswith("Shutter")]
        closed = any(self._place(c, self._doing(c, raws), raws[c.key])[0] == "dark" for c in shutters)
        master = dims.pop(None, 1.0) * (not closed)
        emitters = [c for c in controls if c.attribute.startswith("ColorAdd_")]
        if emitters:
            return {
                (c.cell or "", HUES[c.attribute[9:]]): shares[c.key] * master * dims.get(c.cell, 1.0)
                for c in emitters
            }
        if self.profile.kind in ("relay", "atmosphere"):
            return {}
        if dims:
            return {(cell or "", ""): level * master for cell, level in dims.items()}
        # Without an intensity it is hung before or in another light, which is up.
        return {("", "ultraviolet" if "uv" in self.profile.key else ""): master}

    def _parts(
        self, raws: Mapping[str, int], shares: Mapping[str, float]
    ) -> dict[tuple[str, str], tuple[str, float]]:
        """What stands in the beam, by what it is called and by control: which place, and how far."""
        parts = dict[tuple[str, str], tuple[str, float]]()
        for c in self.mode.controls:
            named = (w for pattern, w in NUMBERED if re.fullmatch(pattern, c.attribute))
            word = SMOOTH.get(c.attribute) or next(named, "")
            if word in (*STEPS, "effect"):
                function = self._doing(c, raws)
                state = self._place(c, function, raws[c.key])
                angle = shares[c.key] if function and "Pos" in function.attribute else 0.0
                parts[word, c.key] = (" ".join(state) if state[0] != "plain" else "", angle)
            elif word:
                parts[word, c.key] = ("", shares[c.key])
        return parts

    def _shown(
        self, parts: Mapping[tuple[str, str], tuple[str, float]]
    ) -> dict[tuple[str, str], tuple[str, float]]:
        """Without what cannot be seen: the turning of what is not in."""

        def hidden(word: str, key: str) -> bool:
            of = NEEDS.get(word)
            number = re.search(r"\d", key)
            there = [now for (w, k), now in parts.items() if w == of and (not number or number[0] in k)]
            return of is not None and not any(any(now) for now in there)

        return {at: now for at, now in parts.items() if not hidden(*at)}

    def _seen(self, before: Picture, after: Picture, alone: bool, least: float) -> str:
        if after.harm - before.harm:
            return min(after.harm - before.harm)
        moved = [word for word, at in after.body.items() if abs(at - before.body.get(word, 0)) >= least]
        if moved:
            return moved[0]
        if after.flickers and not before.flickers and before.light:
            return "flickers"
        if before.light and not after.light:
            return "dark"
        lit = self._more_light(before, after, alone or least < SEEN, least / 10)
        return lit or self._else(before, after, least)

    def _more_light(self, before: Picture, after: Picture, by_hue: bool, glimmer: float) -> str:
        """What light came to it, if any. by_hue: out of the dark it is told by its colour."""
        if not before.light and after.lit >= glimmer:
            hues = {hue for _, hue in after.light}
            one = hues.pop() if len(hues) == 1 else ""
            return one or "white" if by_hue else "on"
        for (cell, hue), level in after.light.items():
            if level >= glimmer and (cell, hue) not in before.light:
                whole = {h for c, h in after.light if c == cell}
                new = cell not in {c for c, _ in before.light}
                return "part" if not hue or (new and len(whole) > 1) else hue
        return ""

    def _else(self, before: Picture, after: Picture, least: float) -> str:
        for (word, key), now in after.parts.items() if after.light and before.light else ():
            was = before.parts.get((word, key))
            # What came in together with what it turns shows nothing of its own.
            if was is not None and (now[0] != was[0] or abs(now[1] - was[1]) >= least):
                return word
        return "nothing"
