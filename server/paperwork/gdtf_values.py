"""How GDTF writes numbers: DMX values that carry their width, slot lists, colours, links."""

import math
import re
from xml.etree.ElementTree import Element

__all__ = ["GdtfError", "attribute_in", "colour_in", "dmx_in", "hex_in", "number_in", "offset_in", "whole_in"]

# Attribute names ignore case (Annex A); ours do not, so those that decide anything get their spelling.
WORDS = (
    "Dimmer", "Pan", "Tilt", "Rotate", "Shutter", "Strobe", "Pulse", "Iris", "Zoom", "NoFeature",
    "LampControl", "Reset", "ColorAdd_", "ColorSub_", "Gobo", "Prism", "Frost", "Focus", "Fog", "Haze",
    "Blower", "Fan", "Wheel", "Spin", "Pos",
)  # fmt: skip
SPELLED = re.compile("|".join(WORDS), re.IGNORECASE)
SPELLING = {word.casefold(): word for word in WORDS}


class GdtfError(ValueError):
    """A part of the description that cannot be read; the sentence names element and attribute."""


def number_in(element: Element, name: str, default: float) -> float:
    """A finite number. Raises GdtfError with element and attribute, never a silent 0."""
    text = element.get(name)
    if text is None or text.strip() == "":
        return default
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not (math.isfinite(number) and abs(number) <= 1e9):
        raise GdtfError(f'{element.tag} {name}="{text[:40]}" is not a number')
    return number


def whole_in(element: Element, name: str, default: int, first: int, last: int) -> int:
    """A whole number first..last. Raises GdtfError with element and attribute."""
    text = (element.get(name) or str(default)).strip()
    if not re.fullmatch(r"[0-9]{1,6}", text) or not first <= int(text) <= last:
        raise GdtfError(f'{element.tag} {name}="{text[:40]}" is not a whole number from {first} to {last}')
    return int(text)


def hex_in(element: Element, name: str, most: int) -> int:
    """A hexadecimal number 0..most, with or without 0x; 0 when absent. Raises GdtfError."""
    text = (element.get(name) or "0").strip()
    if not re.fullmatch(r"(0[xX])?[0-9A-Fa-f]{1,8}", text) or int(text, 16) > most:
        raise GdtfError(f'{element.tag} {name}="{text[:40]}" is not a hexadecimal number up to {most:X}')
    return int(text, 16)


def dmx_in(element: Element, name: str, width: int) -> int | None:
    """A DMX value at `width` bytes; None when it is absent or "None".

    `v/n` is v in n bytes. Into more bytes its bytes repeat ("mirrored"), with `s` behind they are
    followed by zeros; into fewer bytes the upper ones stay. Source: DIN SPEC 15800:2022-02, Table 1.
    Raises GdtfError with element and attribute.
    """
    text = (element.get(name) or "None").strip()
    if text == "None":
        return None
    parts = re.fullmatch(r"([0-9]{1,10})/([1-4])(s?)", text)
    if not parts or int(parts[1]) >= 1 << 8 * int(parts[2]):
        raise GdtfError(f'{element.tag} {name}="{text[:40]}" is not a DMX value')
    octets = int(parts[1]).to_bytes(int(parts[2]), "big")
    filled = octets.ljust(width, b"\0") if parts[3] else octets * width
    return int.from_bytes(filled[:width], "big")


def offset_in(element: Element) -> tuple[int, ...]:
    """Slots of a DMXChannel from 1, coarse first; empty for a virtual one. Raises GdtfError."""
    text = (element.get("Offset") or "None").strip()
    if text == "None":
        return ()
    slots = re.fullmatch(r"([0-9]{1,3})(,[0-9]{1,3}){0,3}", text.replace(" ", ""))
    numbers = tuple(int(n) for n in slots[0].split(",")) if slots else (0,)
    if not all(1 <= n <= 512 for n in numbers):
        raise GdtfError(f'DMXChannel Offset="{text[:40]}" is not one to four slots from 1 to 512')
    return numbers


def colour_in(element: Element, name: str = "Color") -> list[float] | None:
    """CIE xyY, or None where it is absent or no light has that colour (a shut place of a wheel)."""
    try:
        x, y, luminance = (float(part) for part in (element.get(name) or "").split(","))
    except ValueError:
        return None
    fits = x >= 0 and y > 0 and x + y <= 1 and 0 <= luminance <= 1e9
    return [x, y, luminance] if fits else None


def attribute_in(text: str | None) -> str:
    """An attribute's name in our spelling; NoFeature where there is none."""
    name = re.sub(r"\W", "_", (text or "NoFeature").strip(), flags=re.ASCII)[:80]
    name = SPELLED.sub(lambda found: SPELLING[found[0].casefold()], name)
    if name.startswith(("ColorAdd_", "ColorSub_")):
        name = name[:9] + name[9:].upper()
    return name if re.match(r"[A-Za-z]", name) else f"User_{name}"[:80]
