"""The list of all fixtures."""

import json
from collections.abc import Callable

from playwright.sync_api import WebSocketRoute

from tests.web.phones import PhoneOf

# A rig of 2,000, told to the page as the server would; the module is the one the page itself uses.
BIG_RIG = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { take } = await import(base + 'state/asked.js');
  const { rig } = await import(base + 'state/rig.js');
  const one = { purpose: 'Area', profile: 'dimmer', mode: '1-slot', universe: 1, address: 1,
    house: false, guarded: false, work_light: false, notes: "",
    values: { Dimmer: 0 }, holder: null, hands_on: [], level: 0 };
  const fixtures = {};
  for (let n = 1; n <= 2000; n += 1)
    fixtures['x' + n] = { ...one, channel: n, unit: String(n % 40), position: 'Truss ' + Math.ceil(n / 40) };
  take({ is: 'hello', rev: rig.rev, fixtures });
}"""


def test_two_thousand_fixtures_make_few_nodes(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.evaluate(BIG_RIG)
    page.wait_for_selector("text=2000 fixtures")
    assert page.locator(".rows > *").count() <= 40
    page.locator(".scroll").evaluate("node => { node.scrollTop = 60000 }")
    page.wait_for_function("() => Number(document.querySelector('.row .number')?.textContent) > 500")
    assert page.locator(".rows > *").count() <= 40
    assert page.evaluate("document.querySelectorAll('*').length") <= 1500


def test_typing_finds_by_number_place_purpose_and_type(phone: PhoneOf) -> None:
    page = phone("Kit")
    for typed, found in (
        ("21", "Special A"),
        ("boom left 4", "Head high"),
        ("river", "River mist"),
        ("haze", "River mist"),
    ):
        page.fill("input[type=search]", typed)
        page.wait_for_selector(f".row >> text={found}")
        assert page.locator(".row").count() <= 6, typed
    page.fill("input[type=search]", "nothing like it")
    page.wait_for_selector("text=Nothing like that hangs here.")


def test_the_number_pad_goes_to_a_channel_and_says_when_there_is_none(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.click("text=Number")
    for key in "99":
        page.click(f".key >> text={key}")
    page.click(".ends >> text=Go")
    assert page.locator("dialog [role=alert]").inner_text() == "No fixture has channel 99."
    for _ in "99":
        page.click("text=Rub out")
    for key in "42":
        page.click(f".key >> text={key}")
    page.click(".ends >> text=Go")
    page.wait_for_selector(".tag >> text=Wheelhouse door")


def test_the_list_opens_where_one_was(phone: PhoneOf) -> None:
    page = phone("Kit", "#fixture/demo-48")
    page.wait_for_selector(".tag >> text=48")
    page.tap("#shelf >> text=List")
    page.wait_for_selector(".row .number >> text=48")
    assert page.locator(".scroll").evaluate("node => node.scrollTop") > 500


def test_the_list_opens_where_one_was_also_before_it_knows_the_rest_of_the_rig(phone: PhoneOf) -> None:
    home = phone("Kit")
    page, kept = home.context.new_page(), list[Callable[[], None]]()

    def hold_back(socket: WebSocketRoute) -> None:
        far = socket.connect_to_server()

        def told(text: str | bytes) -> None:
            if json.loads(text)["is"] == "rest":
                kept.append(lambda: socket.send(text))
            else:
                socket.send(text)

        far.on_message(told)

    page.route_web_socket("**/api/live*", hold_back)
    page.goto(f"{home.url}#fixture/demo-48")
    page.wait_for_selector(".tag >> text=48")
    page.tap("#shelf >> text=List")
    page.wait_for_selector(".row .number >> text=48")
    [rest] = kept
    rest()
    page.wait_for_function("() => document.querySelector('.scroll').scrollTop > 500")


def test_units_stand_in_hang_order_under_their_position(phone: PhoneOf) -> None:
    page = phone("Kit")
    assert page.locator(".rows > .head").first.inner_text() == "Bridge"
    numbers = [int(text) for text in page.locator(".row .number").all_inner_texts()[:6]]
    assert numbers == [1, 2, 3, 4, 5, 6]
