"""Coming in."""

from playwright.sync_api import Page

from tests.web.phones import PhoneOf


def come_in(page: Page, name: str) -> Page:
    page.fill("#name", name)
    page.tap("text=Come in")
    page.wait_for_selector("[data-link=live]")
    return page


def test_a_scanned_code_fills_the_pin_and_the_name_is_enough(phone: PhoneOf) -> None:
    page = come_in(phone(), "Zoe")
    page.wait_for_selector(".row")
    assert page.locator("#status .you").inner_text() == "Zoe"
    assert page.evaluate("location.pathname") == "/"


def test_a_phone_on_the_lan_is_no_secure_context_and_all_works_there(phone: PhoneOf) -> None:
    assert phone("Kit").evaluate("isSecureContext") is False


def test_a_nameless_person_is_asked_for_a_name(phone: PhoneOf) -> None:
    page = phone()
    page.click("text=Come in")
    assert "Say who you are" in page.locator("form [role=alert]").inner_text()


def test_a_wrong_pin_is_refused_in_words(phone: PhoneOf) -> None:
    page = phone()
    page.fill("#name", "Kit")
    page.fill("#pin", "9999")
    page.tap("text=Come in")
    page.wait_for_selector("form [role=alert]:not(:empty)")
    assert "PIN" in page.locator("form [role=alert]").inner_text()


def test_the_place_a_link_named_is_there_after_joining(phone: PhoneOf) -> None:
    page = come_in(phone(place="#fixture/demo-4"), "Bo")
    page.wait_for_selector(".tag .channel >> text=4")


def test_help_names_what_goes_wrong_with_wifi(phone: PhoneOf) -> None:
    page = phone()
    page.click("summary")
    words = page.locator("details").inner_text()
    assert "no internet" in words
    assert "isolation" in words


def test_a_phone_that_comes_back_is_let_in_without_asking(phone: PhoneOf) -> None:
    page = come_in(phone(), "Di")
    page.reload()
    page.wait_for_selector("[data-link=live]")
    page.wait_for_selector(".row")


def test_leaving_brings_the_join_screen_back(phone: PhoneOf) -> None:
    page = come_in(phone(place="#rig"), "Lu")
    page.click("text=Leave (Lu)")
    page.wait_for_selector("[data-screen=join] #name")
