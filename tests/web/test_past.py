"""What happened, on a fixture's sheet and for the whole rig: said, undone, searched, taken away."""

import pytest
from playwright.sync_api import Page

from tests.phones import Phone
from tests.servers import Server
from tests.web.phones import PhoneOf, Thumb, let_go_of_all, to_screen, to_sheet

__all__: list[str] = []


def to_past(page: Page, channel: int) -> None:
    """A fixture's sheet, where it says what happened there."""
    to_sheet(page, channel, "More")
    if page.locator(".picker").is_visible():
        page.click(".picker >> text=Fault, hands")
    page.wait_for_selector(".past li")


def done(phone: Phone, do: str, **fields: object) -> None:
    answer = phone.ask(do, **fields)
    assert answer["is"] == "ok", answer


@pytest.fixture
def mo(server: Server) -> Phone:
    let_go_of_all(server)
    return server.phone("crew", "Mo past")


def test_undo_says_first_what_it_will_do_and_a_second_press_does_it(
    server: Server, phone: PhoneOf, mo: Phone
) -> None:
    done(mo, "set", fixture="demo-22", values={"Dimmer": 0.4})
    done(mo, "let_go", fixture="demo-22")
    page = phone("Ann past", role="lead")
    to_past(page, 22)
    rows = page.locator(".past li")
    assert rows.nth(0).locator("b").inner_text() == "Let go of it."
    assert "Set Dimmer 40 %" in rows.nth(1).locator("b").inner_text()
    rows.nth(0).locator("button").click()
    will = page.locator(".past .will")
    will.wait_for()
    assert "22 back to Dimmer 40 %" in will.inner_text()
    assert "in the hand of Mo past again" in will.inner_text()
    mo.drain()
    assert mo.rig["fixtures"]["demo-22"]["holder"] is None  # nothing has happened yet
    page.wait_for_timeout(450)  # a glove's second press is not taken for one
    will.locator("button").click()
    page.wait_for_selector(".past li:first-child[data-undone]")
    assert "Undone by Ann past" in rows.nth(0).inner_text()
    mo.until(lambda: mo.rig["fixtures"]["demo-22"]["holder"] == mo.rig["you"]["id"])
    done(mo, "let_go", fixture="*")


def test_what_is_in_the_way_is_said_and_nothing_can_be_pressed(
    server: Server, phone: PhoneOf, mo: Phone
) -> None:
    done(mo, "set", fixture="demo-23", values={"Dimmer": 0.4})
    done(mo, "let_go", fixture="demo-23")
    page = phone("Bo past", role="lead")
    to_past(page, 23)
    page.locator(".past li").nth(1).locator("button").click()
    will = page.locator(".past .will")
    will.wait_for()
    assert will.inner_text() == "Mo past changed 23 after that. Undo that first."
    assert will.locator("button").count() == 0


def test_in_somebody_elses_hand_it_is_held(server: Server, phone: PhoneOf, mo: Phone) -> None:
    done(mo, "take", fixture="demo-24")
    done(mo, "set", fixture="demo-24", values={"Dimmer": 0.4})
    mo.until(lambda: mo.rig["fixtures"]["demo-24"]["values"]["Dimmer"] == 0.4)
    page = phone("Cy past", role="lead")
    to_past(page, 24)
    page.locator(".past li").nth(0).locator("button").click()
    page.wait_for_selector(".will fc-hold")
    assert "still in the hand of Mo past" in page.locator(".will").inner_text()
    Thumb(page).hold(".will fc-hold button")
    page.wait_for_selector(".past [data-undone]")
    mo.until(lambda: mo.rig["fixtures"]["demo-24"]["values"]["Dimmer"] < 0.4)
    mo.drain()
    assert mo.rig["fixtures"]["demo-24"]["holder"] == mo.rig["you"]["id"]
    done(mo, "let_go", fixture="*")


def test_a_sheet_that_is_open_hears_what_happens(server: Server, phone: PhoneOf, mo: Phone) -> None:
    done(mo, "fault", fixture="demo-25", words="buzzes")
    page = phone("Di past")
    to_past(page, 25)
    done(mo, "fault", fixture="demo-25", words=None)
    page.wait_for_selector(".past li b:text-is('Noted that nothing is wrong.')")


def test_the_rig_screen_is_searched_and_taken_away(server: Server, phone: PhoneOf, mo: Phone) -> None:
    done(mo, "fault", fixture="demo-26", words="smells of past")
    page = phone("Ed past", role="lead")
    to_screen(page, "rig")
    page.wait_for_selector(".record .past li")
    page.fill(".record input", "smells mo")
    page.wait_for_selector(".found li")
    assert page.locator(".found li").count() == 1
    assert 'Noted: "smells of past".' in page.locator(".found li").inner_text()
    assert not page.locator(".record .past").is_visible()
    with page.expect_download() as taken:
        page.click(".record a")
    text = taken.value.path().read_text(encoding="utf-8-sig")
    assert [line.split(",")[1] for line in text.splitlines()] == ["Name", "Mo past"]
    page.fill(".record input", "")
    page.wait_for_selector(".record .past li >> visible=true")
    assert page.locator(".found li").count() == 0


def test_crew_see_their_own_and_undo_it_on_the_rig_screen(server: Server, phone: PhoneOf, mo: Phone) -> None:
    done(mo, "master", value=0.7)
    page = phone("Flo past")
    to_screen(page, "rig")
    page.wait_for_selector(".record .hint:text-is('Nothing yet.')")
    assert page.locator(".record h2").inner_text() == "What I did"
    done(mo, "master", value=1.0)
