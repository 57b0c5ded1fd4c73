"""A label is scanned: its fixture's sheet, and its light after one press; never by the scan alone."""

import pytest

from tests.servers import Server
from tests.web.conftest import NAME
from tests.web.phones import PhoneOf, let_go_of_all
from tests.web.test_join import come_in

__all__: list[str] = []

CHANNEL_3 = (1, 3)  # universe and slot of the demo's channel 3, a dimmer


def test_a_joined_phone_gets_the_sheet_and_the_light_comes_with_one_press(
    phone: PhoneOf, server: Server
) -> None:
    page = phone("Kit", "F/DEMO-3")
    button = page.locator(".hand-row .main")
    button.wait_for()
    assert button.inner_text() == "Light up 3"
    assert page.locator(".tag .channel").inner_text() == "3"
    box = button.bounding_box()
    assert box is not None
    assert box["height"] >= 96
    assert box["width"] >= 300
    assert box["y"] + box["height"] <= 844
    # It was there for as long as a fade takes, and nothing came up.
    page.wait_for_timeout(1200)
    lead = server.client()
    assert lead.get("/api/universes/1").json()["slots"][CHANNEL_3[1] - 1] != 255
    assert server.phone("crew").rig["fixtures"]["demo-3"]["holder"] is None
    button.tap()
    server.sacn.until_slot(*CHANNEL_3, 255)
    page.wait_for_function("() => document.querySelector('.hand-row .main').textContent === 'Light up'")
    assert page.evaluate("location.pathname + location.hash") == "/#fixture/demo-3"
    let_go_of_all(server)


def test_a_phone_that_has_not_joined_joins_first_and_comes_back_to_the_sheet(
    phone: PhoneOf, server: Server
) -> None:
    page = phone()
    page.goto(f"http://{NAME}:{server.port}/f/demo-4")
    page.wait_for_selector("[data-screen=join] form")
    page.fill("#pin", "2222")
    come_in(page, "Ida")
    page.wait_for_selector(".hand-row .main >> text=Light up 4")
    assert server.phone("crew").rig["fixtures"]["demo-4"]["holder"] is None
    page.tap("text=Light up 4")
    server.sacn.until_slot(1, 4, 255)
    let_go_of_all(server)


def test_what_moves_is_lit_as_it_hangs(phone: PhoneOf) -> None:
    page = phone("Kit", "F/DEMO-21")
    page.wait_for_selector(".hand-row .main >> text=Light up 21")
    assert "as it hangs" in page.locator(".hand-row .main").inner_text()


@pytest.mark.parametrize("code", ["NO-SUCH", "%3Cb%3E", "%E4"])
def test_an_unknown_identity_is_told_in_words(phone: PhoneOf, code: str) -> None:
    page = phone("Kit", f"F/{code}")
    page.wait_for_selector("h1 >> text=No fixture of this rig has the identity")
    assert "another show" in page.locator("main").inner_text()
    page.tap("text=All fixtures")
    page.wait_for_selector(".row")


def test_it_says_so_in_german_too(phone: PhoneOf) -> None:
    page = phone("Kit", "F/DEMO-3", locale="de-DE")
    page.wait_for_selector(".hand-row .main >> text=Licht an: 3")


def test_the_large_button_fits_a_small_phone_and_one_on_its_side(phone: PhoneOf) -> None:
    for size in ({"width": 320, "height": 568}, {"width": 844, "height": 390}):
        page = phone("Kit", "F/DEMO-3", viewport=size)
        button = page.locator(".hand-row .main")
        button.wait_for()
        box = button.bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= size["width"]
        assert box["y"] + box["height"] <= size["height"]
        assert box["height"] >= 48
