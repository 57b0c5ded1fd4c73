"""The lead sees to people: names, phones, what they hold, and PINs."""

from importlib.resources import files

import pytest
from playwright.sync_api import Browser, Page

from tests.servers import PINS, Server
from tests.web.conftest import NAME
from tests.web.phones import PhoneOf, Thumb, let_go_of_all, to_screen
from tests.web.places import in_shade
from tests.web.test_access import AXE, COVERED, TOO_SMALL, TOO_WIDE

__all__: list[str] = []


def row(page: Page, name: str) -> str:
    """Where somebody stands in the list of people."""
    selector = f".people button:has(b:text-is('{name}'))"
    page.wait_for_selector(selector)
    return selector


def sheet(page: Page, name: str) -> None:
    to_screen(page, "rig")
    page.tap(row(page, name))
    page.wait_for_selector("dialog.person[open]")


def test_the_lead_calls_somebody_otherwise_and_they_see_it(phone: PhoneOf, server: Server) -> None:
    mo, lead = phone("Mo Early"), phone("Lead R", role="lead")
    sheet(lead, "Mo Early")
    lead.fill("#called", "Mo Late")
    lead.tap("dialog >> text=Rename")
    row(lead, "Mo Late")
    mo.wait_for_function("() => document.querySelector('#status .you').textContent === 'Mo Late'")


def test_a_name_that_is_taken_is_refused_on_the_sheet(phone: PhoneOf, server: Server) -> None:
    phone("Taken"), phone("Taker")
    lead = phone("Lead T", role="lead")
    sheet(lead, "Taker")
    lead.fill("#called", "taken")
    lead.tap("dialog >> text=Rename")
    lead.wait_for_selector("dialog .why:has-text('taken 2 is free')")


def test_everybody_renames_themselves_and_nobody_else(phone: PhoneOf) -> None:
    phone("Other One")
    page = phone("Self One")
    to_screen(page, "rig")
    assert page.locator(row(page, "Other One")).is_disabled()
    page.tap(row(page, "Self One (you)"))
    assert page.locator("dialog fc-hold").count() == 0
    page.fill("#called", "Self Two")
    page.tap("dialog >> text=Rename")
    row(page, "Self Two (you)")
    page.wait_for_selector("text=Leave (Self Two)")


def test_the_lead_lets_go_of_all_that_somebody_holds(phone: PhoneOf, server: Server) -> None:
    let_go_of_all(server)
    holder = server.phone("crew", "Holder")
    for fixture in ("demo-1", "demo-2"):
        assert holder.ask("take", fixture=fixture)["is"] == "ok"
    lead = phone("Lead H", role="lead")
    sheet(lead, "Holder")
    lead.wait_for_selector("dialog >> text=Let go of all 2 they hold")
    Thumb(lead).hold("dialog fc-hold:has-text('Let go') button")
    lead.wait_for_selector("dialog >> text=Nothing to let go of")
    me = holder.rig["you"]["id"]
    holder.until(lambda: not [f for f in holder.rig["fixtures"].values() if f["holder"] == me])


def test_a_tap_removes_nobody_and_a_hold_puts_the_phone_on_the_join_screen(phone: PhoneOf) -> None:
    mo, lead = phone("Mo Gone"), phone("Lead G", role="lead")
    sheet(lead, "Mo Gone")
    lead.tap("dialog fc-hold:has-text('Remove') button")
    lead.wait_for_timeout(300)  # a tap is over; what it would have done would be done
    assert lead.locator("dialog[open]").count() == 1
    assert mo.locator("[data-link=live]").count() == 1
    Thumb(lead).hold("dialog fc-hold:has-text('Remove') button")
    mo.wait_for_selector("[data-screen=join] form")
    assert "The lead has removed this phone" in mo.locator("form [role=alert]").inner_text()
    lead.wait_for_selector(".people:not(:has-text('Mo Gone'))")
    mo.reload()
    mo.wait_for_selector("[data-screen=join] form")


def test_a_new_pin_is_in_force_and_the_page_says_what_it_does_not_do(phone: PhoneOf, server: Server) -> None:
    lead, stays = phone("Lead P", role="lead"), phone("Stays")
    to_screen(lead, "rig")
    lead.tap("text=New PIN for house")
    lead.fill("#new-pin", "12")
    lead.tap("dialog >> text=Set")
    lead.wait_for_selector("dialog .why:has-text('four to eight digits')")
    lead.fill("#new-pin", "590124")
    lead.tap("dialog >> text=Set")
    lead.wait_for_selector("#say:has-text('Phones that have joined stay')")
    client = server.client(None)
    wanted = {"name": "House P", "pin": "590124"}
    assert client.post("/api/join", json=wanted).json()["person"]["role"] == "house"
    assert stays.locator("[data-link=live]").count() == 1
    back = server.client("lead").put("/api/pins/house", json={"pin": PINS["house"]})
    assert back.status_code == 200


def test_crew_see_no_pins(phone: PhoneOf) -> None:
    page = phone("Crew P")
    to_screen(page, "rig")
    page.wait_for_selector(".people button")
    assert page.locator("#pins").count() == 0


def test_a_taken_name_is_offered_a_free_one_that_comes_in(phone: PhoneOf) -> None:
    phone("Double")
    page = phone()
    page.fill("#name", "Double")
    page.tap("text=Come in")
    page.wait_for_selector("form [role=alert]:has-text('Double 2')")
    assert page.input_value("#name") == "Double 2"
    page.tap("text=Come in")
    page.wait_for_selector("[data-link=live]")


def test_a_link_from_another_site_opens_the_page_and_its_cookie_lets_it_in(
    chromium: Browser, server: Server
) -> None:
    # SameSite=Strict holds the cookie back from what another site begins, which is the page's own files only.
    context = chromium.new_context()
    page, home = context.new_page(), f"http://{NAME}:{server.port}"
    page.goto(f"{home}/J/{PINS['crew']}")
    page.fill("#name", "Linked")
    page.click("text=Come in")
    page.wait_for_selector("[data-link=live]")
    (cookie,) = context.cookies()
    assert (cookie.get("sameSite"), cookie.get("httpOnly")) == ("Strict", True)
    page.goto(f"http://127.0.0.1:{server.port}/api/health")  # for a browser another site than that name
    page.evaluate("home => { document.body.innerHTML = `<a href='${home}/#rig'>in</a>` }", home)
    page.click("a")
    page.wait_for_selector("[data-link=live]")
    assert page.url.startswith(home)
    context.close()


@pytest.mark.parametrize("opens", ["person", "pin"])
@pytest.mark.parametrize("size", [(390, 844), (320, 568), (844, 390)], ids=str)
def test_the_sheets_are_large_enough_and_axe_finds_nothing(
    phone: PhoneOf, size: tuple[int, int], opens: str
) -> None:
    phone("Somebody Here")
    page = phone(f"Lead {size[0]} {opens}", role="lead", viewport={"width": size[0], "height": size[1]})
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text())
    to_screen(page, "rig")
    page.tap(row(page, "Somebody Here") if opens == "person" else "text=New PIN for crew")
    page.wait_for_selector("dialog[open]")
    for shade in ("dark", "day", "night", "sharp"):
        in_shade(page, shade)
        found = page.evaluate(AXE)["violations"]
        assert not [f"{shade} {one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]
    assert not page.evaluate(TOO_SMALL) + page.evaluate(TOO_WIDE)
    # What lies under the sheet is covered, and meant to be.
    assert not page.evaluate(
        COVERED.replace("document.querySelectorAll(", "document.querySelector('dialog').querySelectorAll(")
    )
