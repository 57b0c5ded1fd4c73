"""What the page fetches, from whom, and what a phone can keep of it."""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Page

from server.output.shared_map import SharedMap
from server.places import web_folder
from tests.servers import Server
from tests.web.phones import PhoneOf, to_screen, to_sheet, whole


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
    whole(page)
    page.wait_for_load_state("networkidle")
    cdp.detach()
    return [(names[key], status) for key, status in came.items() if key in names]


def test_the_second_load_is_one_request(phone: PhoneOf) -> None:
    page = phone("Kit")
    whole(page)
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
    assert names == ["de-profiles.js", "de.js", "profiles.js"]
    assert all(came.count(url) == 1 for url in asked)


# Whatever is said from now on, also if only for a moment.
EVER_SAID = """() => {
  const box = document.querySelector('#say');
  const said = globalThis.said = [];
  new MutationObserver(() => said.push(box.textContent)).observe(box, { childList: true });
}"""
# What a German phone waits for. All else of the page comes when nobody does.
FIRST = {"app.js", "net/early.js", "words/de.js", "words/profiles.js", "words/de-profiles.js"}


@contextmanager
def without_the_rest(page: Page) -> Iterator[list[str]]:
    """All that a German phone should not need is held back, told by its path, and comes at the end."""
    paths = (path.relative_to(web_folder()).as_posix() for path in web_folder().rglob("*.?s*"))
    rest = [{"urlPattern": f"*/w/*/{path}"} for path in paths if path not in FIRST]
    cdp, held = page.context.new_cdp_session(page), list[str]()
    cdp.on("Fetch.requestPaused", lambda event: held.append(event["request"]["url"]))
    cdp.send("Fetch.enable", {"patterns": rest})
    yield held
    cdp.send("Fetch.disable")


def test_a_german_sheet_is_there_with_60_kb_and_nothing_of_it_in_english(phone: PhoneOf) -> None:
    home = phone("Kit", locale="de-DE")
    page, size = home.context.new_page(), dict[str, float]()
    cdp = page.context.new_cdp_session(page)
    cdp.send("Network.enable")
    cdp.send("Network.setCacheDisabled", {"cacheDisabled": True})
    cdp.on("Network.loadingFinished", lambda it: size.update({it["requestId"]: it["encodedDataLength"]}))
    with without_the_rest(page):
        page.goto(f"{home.url}#fixture/demo-3", wait_until="commit")  # what is held back may hold up the rest
        page.wait_for_selector(".pane fc-fader .track")
        page.wait_for_selector("#shelf >> text=Dimmer")
        assert 40_000 < sum(size.values()) <= 60_000  # our own goal for the page on its way to a phone
        to_screen(page, "fixtures")
        page.wait_for_selector(".row >> text=Prof6")
        assert "ProfEng" not in page.inner_text(".rows")


def test_what_the_laptop_says_waits_for_its_german(phone: PhoneOf, server: Server) -> None:
    mo, kit = phone("Mo"), phone("Kit", locale="de-DE")
    to_sheet(mo, 21, "Level")
    mo.click("text=Light up")
    mo.wait_for_selector(".tag .who >> text=In your hand")
    shared = SharedMap(server.data / "demo" / "output.map")
    shared.set_error("The network is down: is the cable in?")
    kit.wait_for_selector("#status >> text=Das Netz ist weg")  # so that a page that loads is told at once
    page = kit.context.new_page()
    with without_the_rest(page) as held:
        page.goto(f"{kit.url}#fixture/demo-21", wait_until="commit")  # what is held back may hold up the rest
        page.wait_for_selector(".tag[data-drive=other]")
        page.evaluate(EVER_SAID)
        page.click(".hand-row .hand")
        while not any(url.endswith("/de-server.js") for url in held):
            page.wait_for_timeout(20)
        assert page.text_content("#status .state") == ""
    page.wait_for_selector("#say >> text=Mo hat 21. Übernehmen?")
    page.wait_for_selector("#status >> text=Das Netz ist weg")
    assert {text.partition("?")[0] for text in page.evaluate("said")} == {"Mo hat 21. Übernehmen"}
    shared.set_error("")
    shared.close()


def test_nothing_in_the_page_names_a_place_elsewhere(phone: PhoneOf) -> None:
    page = phone("Kit")  # and the fixture itself fails on any request that is not to our own server
    whole(page)
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
