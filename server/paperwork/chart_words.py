"""What the words of a manual's slot chart mean: which attribute, and whether it must be guarded.

Attributes are GDTF's (DIN SPEC 15800:2022-02, Annex A). Words are those that manuals use, English and German.
"""

import re
from dataclasses import dataclass

from server.rig.profile import Function

__all__ = ["NOTHING", "Meaning", "is_fine", "meaning_of", "piece_of", "plain"]

NOTHING = "NoFeature"
UNKNOWN = "Effects"  # what nobody here knows


@dataclass(frozen=True, slots=True)
class Meaning:
    """attribute without its number where it is counted (`counts`). guard: the reason, None for none."""

    attribute: str
    guard: str | None = None
    counts: bool = False


# The first that fits decides. What can hurt comes first: it must not pass for something harmless.
CONTROLS: tuple[tuple[str, Meaning], ...] = (
    (r"fog|smoke|nebel|rauch", Meaning("Fog", "fog", True)),
    (r"haze|dunst", Meaning("Haze", "haze", True)),
    (r"\bfans?\b|blower|l(ü|ue)fter|gebl(ä|ae)se|ventilator", Meaning("Fan", "fan", True)),
    (
        r"\blamp(e|en)?\b|ignit|ballast|z(ü|ue)nd|douse|\bstrike|\barc\b",
        Meaning("Control", "lamp", True),
    ),
    (
        r"relay|relais|\bmains\b|\bpower\b|outlet|\bnetz|steckdose|heater|heizung|\bpumpe?\b",
        Meaning("Control", "power", True),
    ),
    (r"not used|unused|no function|reserved|unbenutzt|ohne funktion|frei\b|leer\b|^n/?a$|^-+$",
     Meaning(NOTHING)),
    (r"reset|calibrat|kalibrier", Meaning("Control", "control", True)),
    (r"colou?r.*(macro|preset|mix|set)|farb.*(makro|vorwahl)", Meaning("ColorMacro", None, True)),
    (r"auto|sound|musi[ck]|demo|macros?\b|makro|program|effekt|effect|\bshow\b|chase|lauflicht",
     Meaning("Effects", "other", True)),
    (r"(pan.*tilt|p\s?/\s?t|move(ment)?|beweg\w*|motor|position).*(speed|time|geschw|tempo|zeit)"
     r"|(speed|geschw\w*|tempo)\W+(pan|movement|p\s?/\s?t|bewegung)", Meaning("PositionMSpeed")),
    (r"dimm\w*.*(curve|kurve|speed|geschw)", Meaning("DimmerCurve")),
    (r"special|sonder|\bmode\b|modus|setting|einstell|\bfunctions?\b|\bfunktion",
     Meaning("Control", "control", True)),
    (r"\bpan\b.*(rotat|continu|infinit|endlos|dreh)", Meaning("PanRotate")),
    (r"\btilt\b.*(rotat|continu|infinit|endlos|dreh)", Meaning("TiltRotate")),
    (r"\bpan\b|schwenk", Meaning("Pan")),
    (r"\btilt\b|neig", Meaning("Tilt")),
    (r"strobe.*(duration|dauer)|flash.*(duration|length)|blitz.*dauer", Meaning("StrobeDuration")),
    (r"shutter|verschluss", Meaning("Shutter1")),
    (r"strob|flash|blitz", Meaning("Shutter1Strobe")),
    (r"animation", Meaning("AnimationWheel", None, True)),
    (r"(gobo|template|pattern).*(rot|index|spin|pos|angle|dreh|winkel)", Meaning("GoboPos", None, True)),
    (r"gobo|template|\bpattern", Meaning("Gobo", None, True)),
    (r"prism.*(rot|index|pos|angle|dreh|winkel)", Meaning("PrismPos", None, True)),
    (r"prism", Meaning("Prism", None, True)),
    (r"(shaper|framing|blade|schieber|frame).*(rot|angle|dreh|winkel)(?!.*\d)", Meaning("ShaperRot")),
    (r"blade|shutter blade|schieber|framing", Meaning("Blade", None, True)),
    (r"frost|diffus", Meaning("Frost", None, True)),
    (r"\biris\b", Meaning("Iris")),
    (r"\bzoom\b", Meaning("Zoom")),
    (r"\bfocus\b|fokus|\bedge\b|sch(ä|ae)rfe", Meaning("Focus", None, True)),
    (r"\bcto\b", Meaning("CTO")),
    (r"\bctb\b", Meaning("CTB")),
    (r"\bct[ck]?\b|\bcct\b|colou?r temp|farbtemp", Meaning("CTC")),
    (r"\btint\b|green correct|gr(ü|ue)nkorr|\+/- ?green", Meaning("Tint")),
    (r"colou?r.*wheel|farbrad|^colou?rs?\b|^farben?\b|scroller", Meaning("Color", None, True)),
    (r"warm.?(white|wei)|\bww\b", Meaning("ColorAdd_WW")),
    (r"(cool|cold|kalt).?(white|wei)|\bcw\b|kaltwei", Meaning("ColorAdd_CW")),
    (r"amber|bernstein", Meaning("ColorAdd_RY")),
    (r"\blime\b|limette", Meaning("ColorAdd_GY")),
    (r"\buv\b|ultra.?violet", Meaning("ColorAdd_UV")),
    (r"indigo|\bviolett?\b", Meaning("ColorAdd_BM")),
    (r"\bcyan\b", Meaning("ColorSub_C")),
    (r"\bmagenta\b", Meaning("ColorSub_M")),
    (r"\byellow\b|\bgelb\b", Meaning("ColorSub_Y")),
    (r"\bred\b|\brot\b", Meaning("ColorAdd_R")),
    (r"\bgreen\b|\bgr(ü|ue)n\b", Meaning("ColorAdd_G")),
    (r"\bblue\b|\bblau\b", Meaning("ColorAdd_B")),
    (r"\bwhite\b|\bwei(ß|ss)\b", Meaning("ColorAdd_W")),
    (r"dimm|intens|bright|hellig|\bmaster\b|\blevel\b", Meaning("Dimmer")),
    (r"control|steuer", Meaning("Control", "control", True)),
)  # fmt: skip
# What a piece of a range does, inside a control of that attribute; the attribute it then has.
PIECES: tuple[tuple[str, str, str], ...] = (
    (r"Shutter|Dimmer", r"random|zuf(a|ä)ll", "Shutter1StrobeRandom"),
    (r"Shutter|Dimmer", r"puls", "Shutter1StrobePulse"),
    (r"Shutter|Dimmer", r"strob|flash|blitz|\bhz\b", "Shutter1Strobe"),
    (r"Color\d", r"rotat|spin|rainbow|scroll|dreh|regenbogen|\bcw\b|\bccw\b", "{0}WheelSpin"),
    (r"Gobo\d+$", r"shak", "{0}SelectShake"),
    (r"Gobo\d+$", r"rotat|spin|scroll|dreh|\bcw\b|\bccw\b", "{0}WheelSpin"),
    (r"Gobo\d+Pos$", r"rotat|spin|dreh|\bcw\b|\bccw\b", "{0}Rotate"),
    (r"Prism\d+$", r"rotat|spin|dreh", "{0}PosRotate"),
    (r"Prism\d+Pos$", r"rotat|spin|dreh", "{0}Rotate"),
    (r"Iris", r"puls", "IrisPulseOpen"),
)
# What is held and set off, whatever control it stands in: GDTF attribute, kind of action.
ACTS: tuple[tuple[str, str, str], ...] = (
    (r"lamp(e|en)?\b.*\b(off|out|aus)\b|douse", "LampControl", "lamp_off"),
    (r"lamp(e|en)?\b.*\b(on|ein|an)\b|strike|ignit|z(ü|ue)nd", "LampControl", "lamp_on"),
    (r"reset|calibrat|kalibrier", "FixtureGlobalReset", "reset"),
)
IDLE = (
    r"no (function|effect)|not used|unused|reserved|idle|nothing|safe|"
    r"ohne funktion|unbenutzt|frei\b|leer\b|^-+$"
)
STROBE_OFF = re.compile(r"\b(off|aus|open|offen|no strobe|kein)\b")
FINE = re.compile(r"\b(fine|fein|lsb|low byte)\b")
COARSE = re.compile(r"\(?\b(coarse|grob|msb|high byte|fine|fein|lsb|low byte|ultra|(8|16|24)[\s-]?bit)\b\)?")


def plain(text: str) -> str:
    """In one case, without coarse and fine: the same for all slots of one control."""
    return re.sub(r"\s+", " ", COARSE.sub(" ", text.casefold().replace("_", " "))).strip(" ,;:()-")


def is_fine(text: str) -> bool:
    """Whether it names the less significant slot of what came before."""
    return bool(FINE.search(text.casefold().replace("_", " ")))


def meaning_of(text: str) -> Meaning | None:
    """What a control of that name is; None for words nobody here knows."""
    said = plain(text)
    return next((meaning for pattern, meaning in CONTROLS if re.search(pattern, said)), None)


def piece_of(attribute: str, text: str) -> tuple[str, str | None]:
    """Attribute of a piece of a control, and the kind of action that it sets off, if any."""
    said = text.casefold()
    if re.search(IDLE, said):
        return NOTHING, None
    for pattern, acts, kind in ACTS:
        if re.search(pattern, said):
            return acts, kind
    if STROBE_OFF.search(said) and Function(attribute, "", 0, 0).strobes:
        return NOTHING, None
    for of, pattern, inside in PIECES:
        if re.match(of, attribute) and re.search(pattern, said):
            return inside.format(attribute), None
    return attribute, None
