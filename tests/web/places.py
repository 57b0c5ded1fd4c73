"""Where a phone can be turned to: each screen, and a fixture's sheet at each kind of pane."""

from collections.abc import Iterator, Mapping
from typing import Any

from playwright.sync_api import Page

from tests.web.phones import press, to_screen, to_sheet

__all__ = ["GERMAN", "PLACES", "in_shade", "places"]

# Each place of the page once: a screen, or a channel's sheet at a group and a pane.
PLACES: list[tuple[Any, ...]] = [
    ("fixtures",),
    ("focus",),
    ("looks",),
    ("slots",),
    ("rig",),
    ("library",),
    ("library/moving-spot-cmy",),
    ("beside",),
    ("seek",),
    ("instead",),
    ("profile",),
    ("teach",),
    ("nodes",),
    ("outputs",),
    ("patch",),
    ("bring",),
    ("switches",),
    ("switches/demo-21",),
    (3, "Level"),
    (21, "Aim"),
    (21, "Colour"),
    (21, "Colour", "Each"),
    (21, "Colour", "Colour wheel"),
    (21, "Beam"),
    (21, "Beam", "Shutter"),
    (21, "More", "Actions"),
    (21, "More", "Fault, hands"),
    (41, "Beam"),
    (43, "Colour"),
    (38, "Beam", "Shutter"),
    (75, "Guard"),
    (75, "More"),
    (76, "Guard"),
]


# What German calls what a thumb presses to get there.
GERMAN = {
    "Level": "Dimmer",
    "Aim": "Ziel",
    "Colour": "Farbe",
    "Beam": "Strahl",
    "More": "Mehr",
    "Each": "Einzeln",
    "Colour wheel": "Farbrad",
    "Shutter": "Shutter",
    "Actions": "Befehle",
    "Fault, hands": "Fehler, Hand",
    "Guard": "Gesichert",
}


def places(page: Page, called: Mapping[str, str] | None = None) -> Iterator[str]:
    """Turn to one after the other; gives what to call it. called: the words of another language."""
    for place, *names in PLACES:
        more = [called[name] for name in names] if called else names
        if isinstance(place, str):
            to_screen(page, place)
        else:
            to_sheet(page, place, more[0])
            if len(more) > 1:
                press(page, f".picker >> text={more[1]}")
                page.wait_for_selector(f".picker [aria-pressed=true] >> text={more[1]}")
        page.wait_for_function("() => document.querySelector('main').childElementCount > 0")
        yield " ".join([str(place), *more])


def in_shade(page: Page, shade: str) -> None:
    """Turn the page to a shade without leaving the place; returns once it is drawn."""
    page.evaluate(
        """async (shade) => {
          const base = document.querySelector('script[type=module]').src.replace('app.js', '');
          (await import(base + 'state/prefs.js')).setShade(shade);
          await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
        }""",
        shade,
    )
