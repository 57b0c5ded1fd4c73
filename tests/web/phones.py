"""What a person does with a phone: turn to a screen, read a number, use a thumb."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from playwright.sync_api import Page

from tests.servers import Server

__all__ = [
    "PhoneOf",
    "Thumb",
    "held",
    "let_go_of_all",
    "percent",
    "press",
    "reads",
    "to_screen",
    "to_sheet",
    "whole",
]

PhoneOf = Callable[..., Page]
HEAR = """() => {
  globalThis.understood = false;
  addEventListener('fc-held', () => (globalThis.understood = true), { capture: true, once: true });
}"""
# The release comes by a timer of the page's that is older than the button's own: no stall turns their order.
LET_GO = """(button, ms) => {
  globalThis.released = false;
  const release = ({ pointerId }) => {
    button.dispatchEvent(new PointerEvent('pointerup', { pointerId, bubbles: true }));
    globalThis.released = true;
  };
  button.addEventListener('pointerdown', (down) => setTimeout(release, ms, down), { once: true });
}"""


def to_sheet(page: Page, channel: int, group: str | None = None) -> None:
    """Turn to a fixture's sheet, and a group of it, as a tap would."""
    page.evaluate(f"() => {{ location.hash = '#fixture/demo-{channel}' }}")
    page.wait_for_function(
        "n => document.querySelector('.tag .channel')?.textContent === n", arg=str(channel)
    )
    if group:
        press(page, f"#shelf >> text={group}")
    page.wait_for_selector(".pane > *")


def press(page: Page, selector: str) -> None:
    """Press what draws another pane, and wait for that."""
    page.evaluate("() => document.querySelector('.pane > *')?.setAttribute('data-old', '')")
    page.click(selector)
    page.wait_for_selector(".pane > :not([data-old])")


def to_screen(page: Page, name: str) -> None:
    page.evaluate(
        """(hash) => {
          if (location.hash === hash) return;
          for (const node of document.querySelector('main').children) node.setAttribute('data-old', '');
          location.hash = hash;
        }""",
        f"#{name}",
    )
    there = f"main[data-screen={name.partition('/')[0]}] > :not([data-old])"
    page.wait_for_selector(there, state="attached")


def whole(page: Page) -> None:
    """Wait until all of the page is there: most comes while a phone has a link and nothing to do."""
    page.wait_for_selector("[data-whole]", state="attached")


@contextmanager
def held(page: Page) -> Iterator[None]:
    """What is pressed within is held until a press-and-hold button has understood, whenever that is."""
    page.evaluate(HEAR)
    yield
    page.wait_for_function("() => globalThis.understood")


def let_go_of_all(server: Server) -> None:
    """The lead lets go of every fixture for whoever left with it in hand."""
    lead = server.phone("lead")
    for fixture, it in lead.rig["fixtures"].items():
        if it["holder"]:
            lead.ask("let_go", fixture=fixture)
    lead.close()


class Thumb:
    """One finger on a page, by the browser's own touch input: a drag, a hold, a slip."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self._cdp = page.context.new_cdp_session(page)
        self._at = (0.0, 0.0)
        self.when: float | None = None  # of the next touch, in seconds since 1970; otherwise when it is sent

    def _send(self, kind: str) -> None:
        x, y = self._at
        points = [] if kind in ("touchEnd", "touchCancel") else [{"x": x, "y": y}]
        sent = {"type": kind, "touchPoints": points}
        self._cdp.send(
            "Input.dispatchTouchEvent", sent if self.when is None else sent | {"timestamp": self.when}
        )

    def down(self, selector: str, high: float = 0.5) -> "Thumb":
        box = self.page.locator(selector).first.bounding_box()
        assert box is not None, selector
        self._at = (box["x"] + box["width"] / 2, box["y"] + box["height"] * high)
        self._send("touchStart")
        return self

    def move(self, dx: float, dy: float, steps: int = 10) -> "Thumb":
        for _ in range(steps):
            self._at = (self._at[0] + dx / steps, self._at[1] + dy / steps)
            self._send("touchMove")
        return self

    def up(self) -> None:
        self._send("touchEnd")

    def cancel(self) -> None:
        self._send("touchCancel")

    def hold(self, selector: str) -> None:
        """Press and hold until it has been understood."""
        self.page.locator(selector).first.tap(trial=True)  # it can be pressed, and is in sight
        with held(self.page):
            self.down(selector)
        self.up()

    def rest(self, selector: str, ms: float) -> None:
        """Press, and let go before a press-and-hold has been understood."""
        button = self.page.locator(selector).first
        button.tap(trial=True)
        button.evaluate(LET_GO, ms)
        self.down(selector)
        self.page.wait_for_function("() => globalThis.released")
        self.up()


def percent(page: Page, selector: str = "fc-fader .number") -> float:
    """The number on a control: "35 %" is 35."""
    return float(page.locator(selector).first.inner_text().rstrip("% \u202f"))


def reads(page: Page, number: str, selector: str = "fc-fader .number") -> None:
    """Wait until a control's number begins with this."""
    found = "([where, text]) => document.querySelector(where)?.textContent.startsWith(text)"
    page.wait_for_function(found, arg=[selector, number])
