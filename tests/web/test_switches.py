"""Address switches on a page: the printed table's picture, whichever way the unit hangs, and back."""

from axe_playwright_python.sync_playwright import Axe

from server.rig.switches import Bank, switches_of
from tests.outside.test_switches import PRINTED
from tests.web.phones import PhoneOf, to_screen, to_sheet
from tests.web.test_access import COVERED, TOO_SMALL, TOO_WIDE

__all__: list[str] = []

RULE = """async (zero) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { addressOf, switchesOf } = await import(base + 'state/switches.js');
  const told = (on) => on && on.flatMap((is, at) => (is ? [at + 1] : [])).join(' ');
  const all = Array.from({ length: 512 }, (_, at) => switchesOf(at + 1, zero));
  const back = all.map((on) => on && addressOf(on, zero));
  return { on: all.map(told), back, none: addressOf(Array(9).fill(false), zero) };
}"""
# As it is seen: number, up or down, and the word, from left to right.
SEEN = """() => [...document.querySelectorAll('.bank > span')].map((one) => {
  const [number, word] = ['b', 'small'].map((part) => one.querySelector(part).textContent);
  return number + ('up' in one.dataset ? '\u2191' : '\u2193') + word;
}).join(' ')"""


def test_the_pages_rule_is_that_of_the_printed_table(phone: PhoneOf) -> None:
    page = phone("Kit", "#switches")
    direct, from_zero = page.evaluate(RULE, False), page.evaluate(RULE, True)
    for address, *printed in PRINTED:
        assert [told["on"][address - 1] for told in (direct, from_zero)] == printed
    assert direct["back"] == [*range(1, 512), None]
    assert from_zero["back"] == [*range(1, 513)]
    assert (direct["none"], from_zero["none"]) == (None, 1)
    for zero, told in ((False, direct), (True, from_zero)):
        for address in range(1, 513 if zero else 512):
            on = switches_of(address, Bank(from_zero=zero))
            assert told["on"][address - 1] == " ".join(str(n) for n, is_on in enumerate(on, 1) if is_on)


def test_from_a_sheet_it_shows_that_units_switches_turned_as_it_hangs_and_keeps_the_turn(
    phone: PhoneOf,
) -> None:
    page = phone("Kit")
    to_sheet(page, 3, "More")  # a dimmer at 1.3
    page.tap("text=Address switches")
    page.wait_for_selector("[data-address='3']")
    assert page.evaluate(SEEN) == "1\u2191on 2\u2191on " + " ".join(f"{n}\u2193off" for n in range(3, 10))
    assert "Channel 3" in page.inner_text(".who-there")
    page.tap("text=at the right")
    page.tap(".kind >> text=down")
    page.tap("text=all off")
    page.tap(".kind >> text=10")
    # 3 from 0 is 2: only number 2 is on; on is down, and number 1 is the last.
    turned = " ".join(f"{n}\u2191off" for n in range(10, 2, -1)) + " 2\u2193on 1\u2191off"
    assert page.evaluate(SEEN) == turned
    page.reload()
    page.wait_for_selector("[data-address='3']")
    assert page.evaluate(SEEN) == turned
    for look in (TOO_SMALL, TOO_WIDE, COVERED):
        assert page.evaluate(look) == []
    found = Axe().run(page).response["violations"]
    assert not [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]


def test_switches_that_one_sees_lead_to_the_address_and_to_whose_it_is(phone: PhoneOf) -> None:
    page = phone("Vi", "#switches", role="house")
    page.wait_for_selector("[data-address='1']")
    page.tap("[aria-label='Switch 1, on']")
    page.wait_for_selector("text=All off is no address")
    page.tap("[aria-label='Switch 1, off']")
    for number in (3, 4, 6, 9):
        page.tap(f"[aria-label='Switch {number}, off']")
    page.tap("[aria-label='Switch 1, on']")
    page.wait_for_selector(".slot-number >> text=300")
    page.tap("[aria-label='Address 300: type another']")
    for key in "512":
        page.tap(f".keypad [data-key='{key}']")
    page.tap(".keypad >> text=Go")
    page.wait_for_selector("text=512 cannot be set")
    page.tap(".kind >> text=all off")
    page.wait_for_selector(".bank:not([hidden])")
    assert page.locator(".bank > [data-on]").count() == 9
    to_screen(page, "rig")
    assert page.locator(".ways >> text=Address switches").is_visible()
    assert page.locator(".ways >> text=Rig file").count() == 0
