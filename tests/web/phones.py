"""What a person does with a phone: turn to a screen, read a number, use a thumb."""

from collections.abc import Callable

from playwright.sync_api import Page

from tests.servers import Server

__all__ = ["PhoneOf", "Thumb", "let_go_of_all", "percent", "reads", "to_screen", "to_sheet"]

PhoneOf = Callable[..., Page]


def to_sheet(page: Page, channel: int, group: str | None = None) -> None:
    """Turn to a fixture's sheet, and a group of it, as a tap would."""
    page.evaluate(f"() => {{ location.hash = '#fixture/demo-{channel}' }}")
    page.wait_for_function(
        "n => document.querySelector('.tag .channel')?.textContent === n", arg=str(channel)
    )
    if group:
        page.click(f"#shelf >> text={group}")
    page.wait_for_selector(".pane > *")


def to_screen(page: Page, name: str) -> None:
    page.evaluate(f"() => {{ location.hash = '#{name}' }}")
    page.wait_for_selector(f"[data-screen={name.partition('/')[0]}] *")


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

    def hold(self, selector: str, ms: float) -> None:
        self.down(selector)
        self.page.wait_for_timeout(ms)  # how long a thumb rests is what is tested here
        self.up()


def percent(page: Page, selector: str = "fc-fader .number") -> float:
    """The number on a control: "35 %" is 35."""
    return float(page.locator(selector).first.inner_text().rstrip("% \u202f"))


def reads(page: Page, number: str, selector: str = "fc-fader .number") -> None:
    """Wait until a control's number begins with this."""
    found = "([where, text]) => document.querySelector(where)?.textContent.startsWith(text)"
    page.wait_for_function(found, arg=[selector, number])
