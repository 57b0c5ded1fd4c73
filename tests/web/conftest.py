"""A real server, a real browser, and phones in it."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from tests.needs import program
from tests.web.phones import PhoneOf

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
PINS = {"lead": "1111", "crew": "2222", "house": "3333"}
ROOT = Path(__file__).parents[2]
UP_WITHIN_S = 30


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture(scope="package")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """The demo show on a free port; levels go to a port of this machine that nobody listens on."""
    port, data = free_port(), tmp_path_factory.mktemp("show")
    pins = [word for role, pin in PINS.items() for word in (f"--{role}-pin", pin)]
    where = ["--data", str(data), "--port", str(port), "--host", "127.0.0.1"]
    command = [sys.executable, "-m", "server", "--demo", *where, *pins]
    command += ["--sacn-to", f"127.0.0.1:{free_port()}"]
    log = (data / "server.log").open("wb")
    process = subprocess.Popen(command, cwd=ROOT, stdout=log, stderr=log)
    try:
        _wait_until_up(port, process, data / "server.log")
        yield port
    finally:
        process.send_signal(signal.SIGINT if os.name == "posix" else signal.SIGTERM)
        process.wait(20)
        log.close()


def _join(port: int, name: str, role: str) -> str:
    answer = httpx.post(f"http://127.0.0.1:{port}/api/join", json={"name": name, "pin": PINS[role]})
    token: str = answer.raise_for_status().json()["token"]
    return token


def _is_bad(line: ConsoleMessage) -> bool:
    # The browser itself notes a call that was refused, and a network that a test took away.
    noted = ("status of 403", "net::ERR_INTERNET_DISCONNECTED")
    return line.type in ("error", "warning") and not any(words in line.text for words in noted)


def _wait_until_up(port: int, process: subprocess.Popen[bytes], log: Path) -> None:
    until = time.monotonic() + UP_WITHIN_S
    while time.monotonic() < until and process.poll() is None:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/api/health", timeout=1):
                return
        except OSError:
            time.sleep(0.05)
    pytest.fail(f"the server did not come up:\n{log.read_text(errors='replace')}")


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    path = program("chromium", "chromium-browser", "google-chrome")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def phone(chromium: Browser, server: int) -> Iterator[PhoneOf]:
    """Makes phones: `phone("Kit", "#looks", role="lead")`; without a name one that has not joined yet.

    A test fails on anything wrong in their pages: an error, a warning on the console, or a request to
    somebody else.
    """
    made: list[BrowserContext] = []
    wrong: list[str] = []
    home = f"http://{NAME}:{server}"

    def watched(page: Page) -> Page:
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda line: wrong.append(line.text) if _is_bad(line) else None)
        page.on("request", lambda asked: None if asked.url.startswith(home) else wrong.append(asked.url))
        return page

    def one(
        name: str | None = None, place: str = "", role: str = "crew", shade: str = "dark", **more: Any
    ) -> Page:
        made.append(chromium.new_context(**{**PHONE, **more}))
        made[-1].add_init_script(f"localStorage['fc.shade'] ??= '{shade}'")
        if name is not None:
            made[-1].add_cookies([{"name": "focuscall", "value": _join(server, name, role), "url": home}])
            made[-1].add_init_script("localStorage['fc.in'] ??= '1'")
        page = watched(made[-1].new_page())
        page.set_default_timeout(10_000)
        page.goto(f"{home}/{place}" if name is not None else f"{home}/J/{PINS[role]}{place}")
        page.wait_for_selector("[data-screen=join] form" if name is None else "[data-link=live]")
        return page

    yield one
    for context in made:
        context.close()
    assert not wrong, wrong
