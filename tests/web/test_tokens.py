"""Colours of the four shades, computed by the formula of WCAG 2.2 (relative luminance, contrast ratio)."""

import re
from pathlib import Path

import pytest

TOKENS = (Path(__file__).parents[2] / "web/styles/tokens.css").read_text()
TEXT, LINES = 4.5, 3.0  # WCAG 2.2, 1.4.3 and 1.4.11


def shade(name: str) -> dict[str, tuple[int, int, int]]:
    start = TOKENS.index(":root {" if name == "dark" else f"[data-theme='{name}'] {{")
    block = TOKENS[start : TOKENS.index("}", start)]
    return {token: rgb(value) for token, value in re.findall(r"--([a-z-]+): #([0-9a-f]+);", block)}


def rgb(value: str) -> tuple[int, int, int]:
    full = value if len(value) == 6 else "".join(digit * 2 for digit in value)
    return int(full[:2], 16), int(full[2:4], 16), int(full[4:], 16)


def luminance(colour: tuple[int, int, int]) -> float:
    parts = [part / 255 for part in colour]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def ratio(one: tuple[int, int, int], two: tuple[int, int, int]) -> float:
    high, low = sorted((luminance(one), luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("name", ["dark", "day", "night", "sharp"])
def test_words_and_lines_stand_out(name: str) -> None:
    colours = shade(name)
    for ground in ("ground", "bench"):
        for token in ("ink", "soft", "hand", "other", "fault", "wait"):
            assert ratio(colours[token], colours[ground]) >= TEXT, (token, ground)
        assert ratio(colours["line"], colours[ground]) >= LINES, ground
    assert ratio(colours["on-hand"], colours["hand"]) >= TEXT


def test_night_is_pure_red() -> None:
    assert all(green == blue == 0 for _, green, blue in shade("night").values())
