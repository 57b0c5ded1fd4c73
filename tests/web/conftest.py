"""A real server, a real browser, and phones in it."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from server.api.people import COOKIE
from tests.needs import program
from tests.servers import PINS, Server, serving
from tests.web.phones import PhoneOf, let_go_of_all

# An invented name, so that the page is no secure context: that is what a phone on the LAN gets.
NAME = "focuscall.test"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    f"--host-resolver-rules=MAP {NAME} 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
]
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 1,
    "has_touch": True,
    "is_mobile": True,
}


@pytest.fixture(scope="package")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The demo show on ports of its own, with an ear where its levels go."""
    with serving(tmp_path_factory.mktemp("page") / "data", name=NAME) as running:
        yield running


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    path = program("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def _free(server: Server) -> Iterator[Server]:
    """Nothing is in anybody's hand when the tests of the next file begin, whichever that is."""
    yield server
    let_go_of_all(server)
    server.hang_up()


@pytest.fixture
def phone(chromium: Browser, _free: Server) -> Iterator[PhoneOf]:
    """Makes phones: `phone("Kit", "#looks", role="lead")`; without a name one that has not joined yet."""
    with phones(chromium, _free) as one:
        yield one


@contextmanager
def phones(chromium: Browser, server: Server, port: int = 0) -> Iterator[PhoneOf]:
    """Makes phones, and closes them at the end. port: where they reach the server, when not at its own.

    Fails then on anything wrong in their pages: an error, a warning on the console, or a request to
    somebody else.
    """
    made: list[BrowserContext] = []
    wrong: list[str] = []
    home = f"http://{NAME}:{port or server.port}"

    def watched(page: Page) -> Page:
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda line: wrong.append(line.text) if _is_bad(line) else None)
        page.on(
            "request",
            lambda asked: (
                None if asked.url.removeprefix("blob:").startswith(home) else wrong.append(asked.url)
            ),
        )
        return page

    def one(
        name: str | None = None, place: str = "", role: str = "crew", shade: str = "dark", **more: Any
    ) -> Page:
        made.append(chromium.new_context(**{**PHONE, **more}))
        made[-1].add_init_script(f"localStorage['fc.shade'] ??= '{shade}'")
        if name is not None:
            token = server.client(role, name).headers["Authorization"].removeprefix("Bearer ")
            made[-1].add_cookies([{"name": COOKIE, "value": token, "url": home}])
            made[-1].add_init_script("localStorage['fc.in'] ??= '1'")
        page = watched(made[-1].new_page())
        page.set_default_timeout(30_000)
        page.goto(f"{home}/{place}" if name is not None else f"{home}/J/{PINS[role]}{place}")
        page.wait_for_selector("[data-screen=join] form" if name is None else "[data-link=live]")
        page.wait_for_selector("main[data-screen] > *", state="attached")
        return page

    yield one
    for context in made:
        context.close()
    assert not wrong, wrong


def _is_bad(line: ConsoleMessage) -> bool:
    # The browser itself notes a call that was refused, and a network that a test took away.
    noted = (
        "status of 401",  # a call that was on its way when this phone was forgotten
        "status of 403",
        "status of 409",
        "status of 422",
        "net::ERR_INTERNET_DISCONNECTED",
        "net::ERR_CONNECTION_",
        "net::ERR_SOCKET_",
        "WebSocket connection to",
    )
    return line.type in ("error", "warning") and not any(words in line.text for words in noted)
