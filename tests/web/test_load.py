"""What the page fetches, from whom, and what a phone can keep of it."""

import json
import re

from playwright.sync_api import Page

from tests.web.phones import PhoneOf, to_sheet


def fetched(page: Page, go: str) -> list[tuple[str, int]]:
    """Load a place and take down what came over the network for it: (address, HTTP status)."""
    cdp, names, came = page.context.new_cdp_session(page), dict[str, str](), dict[str, int]()
    cdp.send("Network.enable")
    cdp.on(
        "Network.requestWillBeSent", lambda event: names.update({event["requestId"]: event["request"]["url"]})
    )
    # This one tells what was really answered: only here a kept page that is still good shows as 304.
    cdp.on(
        "Network.responseReceivedExtraInfo",
        lambda event: came.update({event["requestId"]: event["statusCode"]}),
    )
    page.goto(go)
    page.wait_for_selector("[data-link=live]")
    page.wait_for_load_state("networkidle")
    cdp.detach()
    return [(names[key], status) for key, status in came.items() if key in names]


def test_the_second_load_is_one_request(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.wait_for_selector(".row")
    page.wait_for_load_state("networkidle")
    home = page.url
    assert fetched(page.context.new_page(), home) == [(home, 304)]


def test_a_phone_that_opens_a_sheet_first_knows_the_rig_in_the_same_order(phone: PhoneOf) -> None:
    plain, first = phone("Kit"), phone("Mo", "#fixture/demo-61")
    around = "() => [...document.querySelectorAll('.hand-row .step b')].map((one) => one.textContent).join()"
    to_sheet(plain, 61)
    steps = plain.evaluate(around)
    assert re.fullmatch(r"\d+,\d+", steps)
    first.wait_for_function(f"steps => ({around})() === steps", arg=steps)
    hanging = """async () => {
      const base = document.querySelector('script[type=module]').src.replace('app.js', '');
      const { rig } = await import(base + 'state/rig.js');
      return [rig.list.value, [...rig.fixtures.keys()], [...rig.profiles.keys()].sort(), rig.isWhole];
    }"""
    assert first.evaluate(hanging) == plain.evaluate(hanging)


def test_a_german_phone_asks_for_its_words_beside_the_script_and_once(phone: PhoneOf) -> None:
    page = phone("Kit", "#fixture/demo-3", locale="de-DE")
    page.wait_for_selector("#shelf >> text=Dimmer")
    asked, came = page.evaluate("""() => [
      [...document.querySelectorAll('link[rel=modulepreload]')].map((one) => one.href),
      performance.getEntriesByType('resource').map((one) => one.name)]""")
    names = sorted(url.rpartition("/")[2] for url in asked)
    assert names == ["de-profiles.js", "de-record.js", "de-server.js", "de.js", "server.js"]
    assert all(came.count(url) == 1 for url in asked)


def test_nothing_in_the_page_names_a_place_elsewhere(phone: PhoneOf) -> None:
    page = phone("Kit")  # and the fixture itself fails on any request that is not to our own server
    page.wait_for_load_state("networkidle")
    outside = page.evaluate("""() => performance.getEntriesByType('resource')
      .map((one) => one.name).filter((name) => new URL(name).host !== location.host)""")
    assert outside == []


def test_a_phone_is_told_how_to_keep_the_page(phone: PhoneOf) -> None:
    page = phone("Kit")
    cdp = page.context.new_cdp_session(page)
    found = cdp.send("Page.getAppManifest")
    assert found["errors"] == []
    manifest = json.loads(found["data"])
    assert (manifest["start_url"], manifest["display"]) == ("/", "standalone")
    sizes = page.evaluate(
        """async ([base, ...names]) => Promise.all(names.map((name) => new Promise((told) => {
          const picture = new Image();
          picture.onload = () => told(picture.width);
          picture.onerror = () => told(0);
          picture.src = new URL(name, base);
        })))""",
        [found["url"], *(icon["src"] for icon in manifest["icons"])],
    )
    assert len(sizes) == 2
    assert all(sizes)


def test_the_phones_own_bars_take_the_colour_of_the_shade(phone: PhoneOf) -> None:
    colours = set()
    for shade in ("dark", "day", "night", "sharp"):
        page = phone("Kit", shade=shade)
        colour = page.locator("meta[name=theme-color]").get_attribute("content")
        ground = "() => getComputedStyle(document.documentElement).getPropertyValue('--ground').trim()"
        assert colour == page.evaluate(ground)
        colours.add(colour)
    assert colours == {"#17131f", "#f5f0e4", "#000"}
