"""Pictures of the page, every screen in every shade and in some bad moments, on sheets to look at.

python3 -m tests screenshots [FOLDER]
"""

import io
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page, sync_playwright

from server.api.people import COOKIE
from tests.servers import PINS, Server, serving
from tests.web.conftest import FLAGS, NAME, PHONE
from tests.web.moments import care_moments
from tests.web.phones import to_screen, to_sheet
from tests.web.places import in_shade, places

__all__ = ["main"]

SHADES = ("dark", "day", "night", "sharp")
WIDE: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}, "has_touch": False, "is_mobile": False}
LONG = "Unterwasserbeleuchtung Bühnenhinterkante, zweite Ebene rechts außen über dem Bootssteg"
# Two thousand fixtures with long names, told to the page as the server would.
CROWD = """async (long) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { take } = await import(base + 'state/asked.js');
  const { rig } = await import(base + 'state/rig.js');
  const one = { profile: 'dimmer', mode: '1-slot', universe: 1, address: 1, house: false, guarded: false,
    work_light: false, notes: '', values: { Dimmer: 0.5 }, holder: null, hands_on: [], level: 0.5 };
  const fixtures = {};
  for (let n = 1; n <= 2000; n += 1) fixtures['x' + n] = { ...one, channel: 8000 + n, unit: String(n % 40),
    purpose: n % 3 ? 'Area ' + n : long, position: n > 40 ? 'Truss ' + Math.ceil(n / 40) : long };
  take({ is: 'hello', rev: rig.rev, fixtures, looks: { a: { name: long, fixtures: 2000 } } });
}"""


@dataclass(slots=True)
class Sheet:
    """Pictures with their names, in rows."""

    name: str
    columns: int
    scale: float
    shots: list[tuple[str, Image.Image]] = field(default_factory=list)

    def add(self, name: str, page: Page) -> None:
        picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        size = round(picture.width * self.scale), round(picture.height * self.scale)
        self.shots.append((name, picture.resize(size, Image.Resampling.LANCZOS)))

    def write(self, folder: Path) -> Path:
        """Paste them together; returns the file."""
        wide, high = (n + 8 for n in self.shots[0][1].size)
        rows = -(-len(self.shots) // self.columns)
        sheet = Image.new("RGB", (self.columns * wide + 8, rows * (high + 16) + 8), "#808080")
        draw = ImageDraw.Draw(sheet)
        for at, (name, picture) in enumerate(self.shots):
            x, y = 8 + at % self.columns * wide, 4 + at // self.columns * (high + 16)
            draw.text((x, y), name, fill="white")
            sheet.paste(picture, (x, y + 14))
        path = folder / f"{self.name}.png"
        sheet.save(path)
        return path


def main() -> int:
    """Write the sheets; returns the exit code."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        print("Pictures need Chromium: install it and give the same command again.", file=sys.stderr)
        return 1
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp(prefix="focuscall-pictures-"))
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as data,
        serving(Path(data) / "data", name=NAME) as server,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        for sheet in [*_screens(browser, server), _care(browser, server), _moments(browser, server)]:
            print(sheet.write(folder))
        browser.close()
    return 0


def _screens(browser: Browser, server: Server) -> Iterator[Sheet]:
    for kind, columns, scale, size in (("phone", 6, 0.5, dict[str, Any]()), ("wide", 4, 0.4, WIDE)):
        sheets = {shade: Sheet(f"{kind}-{shade}", columns, scale) for shade in SHADES}

        def add(name: str, page: Page, sheets: dict[str, Sheet] = sheets) -> None:
            for shade, sheet in sheets.items():
                in_shade(page, shade)
                sheet.add(name, page)

        with _page(browser, server, None, **size) as page:
            add("join", page)
        with _page(browser, server, "Kit", "lead", **size) as page:
            for name in places(page):
                add(name, page)
            to_screen(page, "several/demo-21,demo-22,demo-23")
            page.wait_for_selector(".pane > *")
            add("several", page)
            if size:
                to_screen(page, "board/demo-21")
                page.wait_for_selector(".pane > *")
                add("board", page)
            to_sheet(page, 3, "Level")
            page.click("fc-fader .number")
            page.wait_for_selector("dialog[open]")
            add("keypad", page)
        yield from sheets.values()


def _care(browser: Browser, server: Server) -> Sheet:
    """People aloft, dark, and what is armed: in all four shades."""
    sheet = Sheet("care", 8, 0.5)
    with _page(browser, server, "Pip", "lead") as page:
        for name in care_moments(server, page, "Pip"):
            for shade in SHADES:
                in_shade(page, shade)
                sheet.add(f"{name}, {shade}", page)
    return sheet


def _moments(browser: Browser, server: Server) -> Sheet:
    """What goes wrong, and what is too much: in all four shades."""
    sheet = Sheet("moments", 8, 0.5)
    mo = server.phone("crew", "Mo")
    fixtures = {it["channel"]: it["id"] for it in server.client().get("/api/fixtures").json()}
    mo.ask("light_up", fixture=fixtures[4])
    with _page(browser, server, "Kit", "crew") as page:
        for name, moment in MOMENTS.items():
            moment(page)
            for shade in SHADES:
                in_shade(page, shade)
                sheet.add(f"{name}, {shade}", page)
    return sheet


def _mine(page: Page) -> None:
    to_sheet(page, 21, "Level")
    page.click("text=Light up")
    page.wait_for_selector(".tag .who >> text=In your hand")


def _somebody_elses(page: Page) -> None:
    to_sheet(page, 4, "Level")
    page.wait_for_selector(".tag .who >> text=Mo has it")


def _refused(page: Page) -> None:
    page.click(".nudge.up")
    page.wait_for_selector("#say:not([hidden])")


def _list(page: Page) -> None:
    page.click("#say >> text=Leave it")
    page.evaluate("() => { location.hash = '#fixtures' }")
    page.wait_for_selector(".row")


def _crowd(page: Page) -> None:
    page.evaluate(CROWD, LONG)
    page.wait_for_selector("text=2000 fixtures")


def _long_names(page: Page) -> None:
    page.evaluate("() => { location.hash = '#fixture/x3' }")
    page.wait_for_selector(".tag .channel >> text=8003")


def _no_link(page: Page) -> None:
    page.wait_for_load_state("networkidle")
    page.context.set_offline(True)
    page.wait_for_selector("[data-link=none]")


MOMENTS: dict[str, Callable[[Page], None]] = {
    "mine": _mine,
    "somebody else's": _somebody_elses,
    "refused": _refused,
    "list": _list,
    "2,000": _crowd,
    "long names": _long_names,
    "no link": _no_link,
}


@contextmanager
def _page(
    browser: Browser, server: Server, name: str | None, role: str = "crew", **size: Any
) -> Iterator[Page]:
    home = f"http://{NAME}:{server.port}"
    context = browser.new_context(**{**PHONE, **size})
    if name is not None:
        token = server.client(role, name).headers["Authorization"].removeprefix("Bearer ")
        context.add_cookies([{"name": COOKIE, "value": token, "url": home}])
        context.add_init_script("localStorage['fc.in'] ??= '1'")
    page = context.new_page()
    page.set_default_timeout(10_000)
    page.goto(home + ("/" if name else f"/J/{PINS[role]}"))
    page.wait_for_selector("[data-link=live]" if name else "[data-screen=join] form")
    yield page
    context.close()


if __name__ == "__main__":
    sys.exit(main())
