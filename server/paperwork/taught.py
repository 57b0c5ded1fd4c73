"""A draft profile from what somebody saw of a fixture that nobody has a file of."""

from collections import Counter
from typing import Any

from server.rig.stepping import RUNNING, Piece
from server.rig.teaching import DANGERS, LIGHTS, Taught

__all__ = ["drafted"]

EMITTERS = {
    "red": "R", "green": "G", "blue": "B", "white": "W", "amber": "RY", "lime": "GY", "cyan": "GC",
    "indigo": "BM", "ultraviolet": "UV", "warm": "WW", "cold": "CW",
}  # fmt: skip
# GDTF attribute by what was seen, {n} where a unit may have several (DIN SPEC 15800:2022-02, Annex A).
SMOOTH = {
    "sideways": "Pan", "updown": "Tilt", "size": "Zoom", "edge": "Focus{n}", "iris": "Iris",
    "frost": "Frost{n}", "blade": "Blade{n}A", "blade_other": "Blade{n}B", "blade_turns": "Blade{n}Rot",
    "frame_turns": "ShaperRot", "less_red": "ColorSub_C", "less_green": "ColorSub_M",
    "less_blue": "ColorSub_Y", "tint": "Tint", "hue": "HSB_Hue", "saturation": "HSB_Saturation",
    "picture_turns": "Gobo{n}Pos", "multiplied_turns": "Prism{n}Pos",
}  # fmt: skip
STEPS = {"colour": "Color{n}", "picture": "Gobo{n}", "multiplied": "Prism{n}", "effect": "Effects{n}"}
SHUTTER = ("flickers", "dark")
CENTRED = ("Pan", "Tilt", "Zoom", "Focus", "ShaperRot", "Gobo1Pos", "Gobo2Pos", "Prism1Pos")
TURNING = {
    "Color": "Color{n}WheelSpin",
    "Gobo": "Gobo{n}",
    "Prism": "Prism{n}PosRotate",
    "Effects": "Effects{n}",
}
PASSING = {"Color": "Color{n}WheelSpin", "Gobo": "Gobo{n}WheelSpin", "Prism": "Prism{n}PosRotate"}
NAMES = {"light": "Open", "plain": "Open", "dark": "Closed", "flickers": "Strobe", "turns": "Rotating"}
NAMES |= {"passes": "Wheel rotation"}
PLACES = {"Color": "Colour", "Gobo": "Template", "Prism": "Facets", "Effects": "Effect"}
ATMOSPHERE = {"smoke": ("fog", "Fog"), "haze": ("haze", "Haze"), "fan": ("fan", "Fan")}

Json = dict[str, Any]


def drafted(taught: Taught, key: str, name: str) -> Json:
    """The profile file of what is known, home dark and open: what nobody could tell is guarded at 0.

    key, name: of the profile. The mode is named by its slots.
    """
    controls = _controls(taught)
    mode: Json = {"name": f"{taught.slots}-slot", "footprint": taught.slots}
    emitters = [c["key"] for c in controls if c["attribute"].startswith("ColorAdd_")]
    if emitters and not any(c["attribute"] == "Dimmer" for c in controls):
        virtual = _control("Dimmer", [], highlight=65535)
        controls = [virtual, *controls]
        mode["multiply"] = [{"master": "Dimmer", "followers": emitters}]
    mode["controls"] = controls
    out: Json = {"schema": 1, "key": key, "name": name, "short_name": name[:12], "maker": "Taught"}
    out |= {"revision": 1, "kind": "light", "modes": [mode]}
    seen = [taught.seen.get(slot, "nothing") for slot in range(1, taught.slots + 1)]
    harm = next((ATMOSPHERE[s][0] for s in seen if s in ATMOSPHERE), None)
    if harm and all(s in (*DANGERS, "nothing", "else") for s in seen):
        guard = {"reason": harm, "safe": 0}
        out |= {"kind": "atmosphere", "guarded": guard}
        for control in controls:
            control["guarded"] = guard
    return out


def _controls(taught: Taught) -> list[Json]:
    found: list[Json] = []
    count: Counter[str] = Counter()
    fine = set(taught.fine.values())
    for slot in range(1, taught.slots + 1):
        if slot in fine:
            continue
        slots = [slot, taught.fine[slot]] if slot in taught.fine else [slot]
        seen = taught.seen.get(slot, "nothing")
        if seen in (*LIGHTS, "on", "part"):
            found.append(_light(taught, seen, slots, count))
        elif seen in SHUTTER or seen in STEPS:
            found.append(_stepped(seen, slot, taught.pieces.get(slot, []), count))
        elif seen in SMOOTH or seen == "warmer":
            found.append(_smooth(taught, seen, slots, count))
        else:
            found.append(_guarded(seen, slot, count))
    return found


def _light(taught: Taught, seen: str, slots: list[int], count: Counter[str]) -> Json:
    full = (1 << 8 * len(slots)) - 1
    lights = taught.those(LIGHTS)
    if seen == "on":
        count["on"] += 1
        extra: Json = {} if count["on"] == 1 else {"cell": f"Part {count['on']}"}
        return _control("Dimmer", slots, highlight=full, **extra)
    if seen == "part":
        count["part"] += 1
        cell = f"Part {count['part']}"
        return _control("Dimmer", slots, cell=cell, default=full, home=full, master="None")
    if not taught.opens and len({taught.seen[s] for s in lights}) == 1:  # circuits, each with a lamp
        count["circuit"] += 1
        extra = {} if len(lights) == 1 else {"cell": f"Part {count['circuit']}"}
        return _control("Dimmer", slots, highlight=full, **extra)
    count[seen] += 1
    extra = {}
    if max(Counter(taught.seen[s] for s in lights).values()) > 1:
        extra = {"cell": f"Part {count[seen]}"}
    return _control(f"ColorAdd_{EMITTERS[seen]}", slots, home=full, unit="ColorComponent", **extra)


def _smooth(taught: Taught, seen: str, slots: list[int], count: Counter[str]) -> Json:
    if seen == "warmer":
        attribute = "CTO" if taught.those(("less_red", "less_green", "less_blue")) else "CTC"
    elif seen in ("picture_turns", "multiplied_turns"):  # that of the wheel before it
        wheel = seen.partition("_")[0]
        count[seen] = max(count[seen] + 1, count[wheel])
        attribute = SMOOTH[seen].format(n=count[seen])
    else:
        count[seen] += 1
        attribute = SMOOTH[seen].format(n=count[seen])
    middle = (1 << 8 * len(slots)) // 2 if attribute.startswith(CENTRED) else 0
    again = count[f"is {attribute}"]
    count[f"is {attribute}"] += 1
    extra: Json = {"cell": f"Part {again + 1}"} if again else {}
    physical = {"Pan": [-270, 270], "Tilt": [-135, 135]}.get(attribute)
    unit = "Angle" if physical else "None"
    return _control(attribute, slots, default=middle, unit=unit, physical=physical, **extra)


def _stepped(seen: str, slot: int, pieces: list[Piece], count: Counter[str]) -> Json:
    shutter = seen in SHUTTER
    family = "Shutter" if shutter else STEPS[seen].partition("{")[0]
    count[family if shutter else seen] += 1
    n = count[family if shutter else seen]
    functions: list[Json] = []
    for piece in pieces or [Piece(0, 255, "dark" if shutter else "plain")]:
        attribute = _meaning(piece.seen, family, n)
        runs = piece.seen in RUNNING
        if not functions or functions[-1]["attribute"] != attribute or functions[-1]["runs"] or runs:
            name = NAMES[piece.seen] if runs else NAMES.get("", family)
            functions.append({"attribute": attribute, "dmx": [piece.first, piece.last], "ranges": []})
            functions[-1] |= {"name": name, "runs": runs}
        function = functions[-1]
        function["dmx"][1] = piece.last
        if not runs:
            place: Json = {"name": _place(piece, family, functions), "dmx": [piece.first, piece.last]}
            if shutter:
                place["physical"] = [1, 1] if piece.seen == "light" else [0, 0]
            function["ranges"].append(place)
    rests = [p for p in pieces if p.seen in ("light", "plain")] or [
        p for p in pieces if p.seen not in RUNNING
    ]
    home = (rests[0].first + rests[0].last) // 2 if rests and rests[0].first else 0
    for function in functions:
        del function["runs"]
    control = _control(f"{family}{n}", [slot], home=home, snap=True)
    control["functions"] = functions
    if not rests:  # it runs wherever it stands: nobody leaves that on
        control["functions"] = _nothing("Runs everywhere")
        control |= {"guarded": {"reason": "other", "safe": 0}, "home": 0}
    return control


def _meaning(seen: str, family: str, n: int) -> str:
    if seen == "flickers":
        return f"Shutter{n if family == 'Shutter' else 1}Strobe"
    table = TURNING if seen == "turns" else PASSING if seen == "passes" else {}
    return table.get(family, family + "{n}").format(n=n)


def _place(piece: Piece, family: str, functions: list[Json]) -> str:
    if piece.seen != "other":
        return NAMES[piece.seen]
    others = [r for f in functions for r in f["ranges"] if r["name"] not in NAMES.values()]
    return f"{PLACES.get(family, 'Place')} {len(others) + 1}"


def _guarded(seen: str, slot: int, count: Counter[str]) -> Json:
    if seen in ATMOSPHERE:
        reason, family = ATMOSPHERE[seen]
        count[family] += 1
        control = _control(f"{family}{count[family]}", [slot])
    else:
        reason = DANGERS.get(seen, "other")
        count["Control"] += 1
        control = _control(f"Control{count['Control']}", [slot], snap=True)
        control["functions"] = _nothing("Not known" if seen in ("nothing", "else") else "Left alone")
    return control | {"guarded": {"reason": reason, "safe": 0}}


def _nothing(name: str) -> list[Json]:
    return [{"attribute": "NoFeature", "name": name, "dmx": [0, 255], "physical": [0, 0]}]


def _control(
    attribute: str, slots: list[int], unit: str = "None", physical: list[int] | None = None, **more: Any
) -> Json:
    last = (1 << 8 * (len(slots) or 2)) - 1
    function: Json = {"attribute": attribute, "dmx": [0, last]}
    if unit != "None":
        function["unit"] = unit
    if physical:
        function["physical"] = physical
    key = f"{attribute}/{more['cell']}" if "cell" in more else attribute
    known = {"key": key, "attribute": attribute, "offset": slots, "default": 0}
    return {**known, **more, "functions": [function]}
