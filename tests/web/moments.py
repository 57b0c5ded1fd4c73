"""States that take more than one person: somebody aloft, a dark that was called, what is armed and runs."""

from collections.abc import Iterator

from playwright.sync_api import Page

from tests.phones import Phone
from tests.servers import Server
from tests.web.phones import to_screen, to_sheet

__all__ = ["care_moments"]


def care_moments(server: Server, page: Page, me: str) -> Iterator[str]:
    """Bring one state about after the other on a page of the lead's; gives what to call it.

    me: what the person at the page is called. Afterwards everybody is down and nothing is armed.
    """
    lead, mo = server.phone("lead", "Lee"), server.phone("crew", "Mo")
    people = lead.rig["people"]
    mine = next(who for who, it in people.items() if it["name"] == me and it["here"])
    to_sheet(page, 21, "Aim")
    mo.ask("aloft", position="LX 1")
    page.wait_for_selector(".tag .aloft-mark:visible")
    yield "beside somebody aloft"
    page.locator("[aria-label='Tilt up']").click()
    page.wait_for_selector("#say fc-hold")
    yield "asked before it moves"
    page.click("#say >> text=Leave it")
    to_screen(page, "rig")
    page.wait_for_selector(".people .aloft-mark:visible")
    yield "somebody is aloft, rig"
    to_screen(page, "fixtures")
    page.fill("input[type=search]", "LX 1 spe")
    page.wait_for_selector(".head .aloft-mark:visible")
    yield "somebody is aloft, list"
    page.fill("input[type=search]", "")
    to_sheet(page, 21, "More")
    page.click(".going-up .here")
    page.wait_for_selector("#care .up")
    yield "aloft"
    to_screen(page, "rig")
    page.click(".going-up >> text=Somewhere else")
    page.wait_for_selector("dialog[open]")
    yield "where"
    page.click("dialog >> text=Not now")
    yield from _dark(lead, mo, page)
    yield from _guarded(lead, page)
    mo.ask("aloft", position=None)
    lead.ask("aloft", position=None, of=mine)
    lead.close()
    mo.close()


def _dark(lead: Phone, mo: Phone, page: Page) -> Iterator[str]:
    lead.ask("going_dark")
    page.wait_for_selector("#dark >> text=Ready")
    yield "dark is called"
    mo.ask("dark_answer", yes=False)
    page.wait_for_selector("#dark >> text=Mo said not yet")
    yield "not yet"
    page.click("#dark >> text=OK")


def _guarded(lead: Phone, page: Page) -> Iterator[str]:
    to_sheet(page, 75)
    page.wait_for_selector(".arm fc-hold")
    yield "guarded"
    lead.ask("arm", fixture="demo-75", reason="Test", seconds=600)
    page.wait_for_selector(".armed-line[data-armed]")
    yield "armed"
    button = page.locator("fc-run button").first
    button.scroll_into_view_if_needed()
    button.focus()
    page.keyboard.down(" ")
    page.wait_for_selector("fc-run[data-held]")
    yield "running"
    page.keyboard.up(" ")
    to_sheet(page, 24, "More")
    page.click(".picker >> text=Actions")
    page.wait_for_selector(".arm fc-hold")
    yield "lamp"
    to_sheet(page, 38, "Beam")
    page.click(".picker >> text=Shutter")
    page.wait_for_selector(".lift fc-hold")
    page.locator("fc-hold[label^=Strobe] button").focus()
    page.keyboard.down(" ")
    page.wait_for_selector(".inner .beyond")
    page.keyboard.up(" ")
    lead.ask("lift_flashes", fixture="demo-38")
    page.wait_for_selector("#care .fast")
    yield "may flash faster"
    lead.ask("lift_flashes", fixture=None)
    page.locator(".pane .chips button", has_text="Steady").first.click()
    lead.ask("arm", fixture="demo-75", reason=None)
