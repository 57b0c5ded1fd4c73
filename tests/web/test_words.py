"""The page in another language: complete, chosen, shown, and short enough."""

import re
from contextlib import suppress
from typing import Any

import pytest
from playwright.sync_api import Page
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.web.phones import PhoneOf, to_sheet
from tests.web.places import GERMAN, places
from tests.web.test_access import COVERED, TOO_WIDE

SHAPES = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const shape = (it) => typeof it !== 'object' ? typeof it
    : Array.isArray(it) ? it.map(shape)
    : Object.fromEntries(Object.keys(it).sort().map((key) => [key, shape(it[key])]));
  const of = async (language) => shape((await import(`${base}words/${language}.js`)).default);
  const both = async (language) => ({ ...(await of(language)), ...(await of(language + '-late')) });
  return { en: await both('en'), de: await both('de') };
}"""
# Words that are wider than what holds them, and cut there or written over their neighbour.
CUT = """() => [...document.querySelectorAll('main *, #shelf *, #status .link')]
  .filter((node) => node.checkVisibility() && !node.closest('.unseen, .rows, .floor, .disc'))
  .filter((node) => [...node.childNodes].some((one) => one.nodeType === 3 && one.data.trim()))
  .filter((node) => {
    const range = document.createRange();
    range.selectNodeContents(node);
    const words = range.getBoundingClientRect();
    const holders = [node.closest('button, a, summary, p, li, h2, label'), node, node.parentElement];
    const box = holders.find((one) => one?.getBoundingClientRect().width).getBoundingClientRect();
    const clamped = getComputedStyle(node).overflow === 'hidden' && node.scrollWidth > node.clientWidth + 1;
    return words.right > box.right + 1 || words.left < box.left - 1 || clamped;
  })
  .map((node) => `cut: ${node.textContent.slice(0, 40)} in ${node.className || node.tagName}`)"""
# What a hand always finds in one line, in two.
WRAPPED = """() => ['#shelf', '.hand-row'].filter((what) => {
  const tops = [...document.querySelectorAll(what + ' > *')].map((one) => one.offsetTop);
  return new Set(tops).size > 1;
})"""
# What a table that lacks an entry, or a function that was not called, looks like on a screen.
RAW = re.compile(r"undefined|\[object|=>|\bNaN\b|\$\{|\bnull\b")


def german(phone: PhoneOf, **more: Any) -> Page:
    return phone("Kit", role="lead", locale="de-DE", **more)


def test_both_languages_say_the_same_things(phone: PhoneOf) -> None:
    shapes = phone("Kit").evaluate(SHAPES)

    def keys(shape: Any) -> Any:
        return {key: keys(one) for key, one in shape.items()} if isinstance(shape, dict) else shape

    english, other = keys(shapes["en"]), keys(shapes["de"])
    english["attributes"].pop("plain")  # where the profile's own English is good enough
    other["attributes"].pop("plain")
    assert english == other


@pytest.mark.parametrize(
    ("locale", "language", "words"), [("de-AT", "de", "Geräte"), ("fr-FR", "en", "Fixtures")]
)
def test_the_phones_language_is_spoken_where_we_know_it(
    phone: PhoneOf, locale: str, language: str, words: str
) -> None:
    page = phone("Kit", locale=locale)
    assert page.locator("html").get_attribute("lang") == language
    page.wait_for_selector(f"#shelf >> text={words}")


def test_another_language_is_chosen_in_the_rig_screen_and_kept(phone: PhoneOf) -> None:
    page = phone("Kit", "#rig")
    page.click("text=Deutsch")
    page.wait_for_selector("[lang=de] #shelf >> text=Geräte")
    page.reload()
    page.wait_for_selector("[lang=de] #shelf >> text=Geräte")
    page.click("text=English")
    page.wait_for_selector("[lang=en] #shelf >> text=Fixtures")


def test_english_phones_never_fetch_another_language(phone: PhoneOf) -> None:
    page = phone("Kit")
    page.wait_for_load_state("networkidle")
    names = page.evaluate("() => performance.getEntriesByType('resource').map((one) => one.name)")
    assert any("words/en.js" in name for name in names)
    assert not any("words/de" in name for name in names)
    assert "en-late" not in page.content()  # and what comes later is not on the way to the first screen


def test_numbers_are_read_and_typed_with_a_comma(phone: PhoneOf) -> None:
    page = german(phone)
    to_sheet(page, 34, "Ziel")
    page.click(".numbers button >> nth=0")
    page.wait_for_selector("dialog .key >> text=,")
    for key in ("-", "1", "2", ",", "5"):
        page.keyboard.press(key)
    page.wait_for_selector("dialog .typed >> text=\u221212,5")
    page.keyboard.press("Enter")
    page.wait_for_selector(".numbers >> text=/Pan \u221212,5°/")
    slider = page.get_by_role("slider", name="Pan")
    assert slider.get_attribute("aria-valuetext") == "-12,5 Grad"
    page.click(".numbers button >> nth=0")
    page.wait_for_selector("dialog[open]")
    for key in "7.5":
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    page.wait_for_selector(".numbers >> text=/Pan 7,5°/")


def test_a_refusal_s_own_words_and_its_answers_are_german(phone: PhoneOf) -> None:
    mo, kit = phone("Mo"), german(phone)
    to_sheet(mo, 38, "Level")
    mo.click("text=Light up")
    mo.wait_for_selector(".tag .who >> text=In your hand")
    to_sheet(kit, 38, "Dimmer")
    kit.wait_for_selector(".tag[data-drive=other]")
    kit.click(".nudge.down")
    kit.wait_for_selector("#say >> text=Mo hat 38. Übernehmen?")


def test_no_place_shows_a_raw_entry_in_either_language(phone: PhoneOf) -> None:
    for page, names in ((phone("Kit", role="lead"), None), (german(phone), GERMAN)):
        for place in places(page, names):
            words = page.evaluate("() => document.body.innerText")
            labels = page.evaluate(
                "() => [...document.querySelectorAll('[aria-label]')].map((one) => one.ariaLabel).join(';')"
            )
            assert not RAW.search(words), place
            assert not RAW.search(labels), place


def test_german_fits_a_small_phone(phone: PhoneOf) -> None:
    page = german(phone, viewport={"width": 320, "height": 640})
    wrong = {}
    for place in places(page, GERMAN):
        for look in (TOO_WIDE, COVERED, CUT, WRAPPED):  # a pane may still be drawing itself
            with suppress(PlaywrightTimeout):
                page.wait_for_function(f"() => !({look})().length", timeout=2000)
            if found := page.evaluate(look):
                wrong[place] = found
    assert not wrong
