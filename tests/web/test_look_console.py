"""Keeping what a console shows, on a real phone: how much that is, is said before it is saved."""

from playwright.sync_api import Page

from tests.consoles import console, drive
from tests.servers import Server
from tests.web.phones import PhoneOf
from tests.web.test_access import COVERED, TOO_SMALL, TOO_WIDE

__all__: list[str] = []

KEEP = "text=Keep what the console shows"


def _fine(page: Page) -> None:
    for look in (TOO_SMALL, TOO_WIDE, COVERED):
        assert page.evaluate(look) == []


def test_what_a_console_shows_is_kept_of_the_universes_chosen(phone: PhoneOf, server: Server) -> None:
    with console(server.sacn_in) as desk:
        drive(desk, 1, (255,) * 512)
        drive(desk, 2, (128,) * 512)
        lead = server.phone("lead")
        lead.until(lambda: "heard 1" in lead.rig["alerts"], "that it is heard")
        page = phone("Kit", "#looks")
        page.wait_for_selector(KEEP)
        _fine(page)
        page.tap(KEEP)
        page.wait_for_selector("dialog .shown button >> nth=1")
        assert page.locator("dialog .shown button").all_inner_texts()[0].startswith("Universe 1\nFront desk")
        both = int(page.inner_text("dialog output").split()[0])
        page.tap("dialog .shown button >> nth=1")
        one = int(page.inner_text("dialog output").split()[0])
        assert 0 < one < both
        page.fill("#look-name", "Theirs")
        page.tap("dialog button.main")
        page.wait_for_selector(".look:has-text('Theirs')")
        assert page.inner_text(".look:has-text('Theirs') small") == f"{one} fixtures"
