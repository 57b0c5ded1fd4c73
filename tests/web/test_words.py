"""The page in another language: complete, chosen, and shown."""

import errno
import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page

from server.output.shared_map import SharedMap
from server.output.trouble import Trouble, sentence_of
from server.places import web_folder
from tests.servers import Server
from tests.web.phones import PhoneOf, Thumb, let_go_of_all, to_screen, to_sheet, whole
from tests.web.places import GERMAN, places

# The parts of the words: "" is what comes with the first screen.
PARTS = sorted(path.stem.removeprefix("en") for path in (web_folder() / "words").glob("en*.js"))
SHAPES = """async (files) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const shape = (it) => typeof it !== 'object' ? typeof it
    : Array.isArray(it) ? it.map(shape)
    : Object.fromEntries(Object.keys(it).sort().map((key) => [key, shape(it[key])]));
  const of = async (language) => shape((await import(`${base}words/${language}.js`)).default);
  const both = async (one) => Object.assign({}, ...(await Promise.all(files.map((file) => of(one + file)))));
  return { en: await both('en'), de: await both('de') };
}"""
# Where what we write differs from what the browser's own formatter does, which knows every language.
NUMBERS = """async () => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const { number, language } = await import(base + 'words/words.js');
  const tried = [0, -0, 0.5, 1.5, 2.5, 0.05, 0.15, 0.25, 1.005, 12.35, 99.95, 2147483647, 1e-7, 1234.5678];
  for (let n = 0; n < 2000; n += 1) tried.push(n / 7, n / 20, n / 255, n / 65535, n * 1.37);
  const wrong = [];
  for (const digits of [0, 1, 2, 3]) {
    const as = { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false };
    const format = new Intl.NumberFormat(language, as);
    for (const value of tried.flatMap((one) => [one, -one])) {
      const theirs = format.format(value);
      const text = (/[1-9]/.test(theirs) ? theirs : theirs.replace('-', '')).replace('-', '\\u2212');
      if (number(value, digits) !== text) wrong.push([value, digits, number(value, digits), text]);
    }
  }
  return [language, wrong];
}"""
# What English says where German says otherwise; functions are tried with what stands for anything.
FOREIGN = """async (files) => {
  const base = document.querySelector('script[type=module]').src.replace('app.js', '');
  const of = async (name) => (await import(`${base}words/${name}.js`)).default;
  const [found, spoken] = [new Set(), new Set()];
  const said = (one, args) => { try { return String(one(...args)); } catch { return ''; } };
  const leaves = (en, de) => {
    if (typeof en === 'string') return [[en, de]];
    if (typeof en === 'function') {
      return ['\\u0001', 987, ['\\u0001']].map((any) => [en, de].map((one) => said(one, [any, any, any])));
    }
    return Object.keys(en).flatMap((key) => (de[key] === undefined ? [] : leaves(en[key], de[key])));
  };
  for (const file of files) {
    for (const [en, de] of leaves(await of(`en${file}`), await of(`de${file}`))) {
      spoken.add(de.trim());
      if (en !== de && /[a-z]{2}/i.test(en)) found.add(en.trim());
    }
  }
  const parts = await Promise.all(['server', 'record', 'profiles'].map((one) => of(`de-${one}`)));
  const tables = parts.flatMap((part) => Object.entries(part));
  for (const [en, de] of tables) {
    spoken.add(de.trim());
    if (en !== de) found.add(en.replace(/\\{\\w+\\}/g, '\\u0001'));
  }
  return [...found].filter((one) => !spoken.has(one));
}"""
# Whatever a person sees or is read aloud, each piece by itself.
SHOWN = """() => {
  const texts = new Set();
  for (const node of document.querySelectorAll('body *')) {
    if (!node.checkVisibility() || node.closest('script, noscript')) continue;
    for (const name of ['aria-label', 'aria-valuetext', 'title', 'placeholder', 'label', 'words']) {
      texts.add(node.getAttribute(name) ?? '');
    }
    for (const one of node.childNodes) if (one.nodeType === 3) texts.add(one.data);
  }
  return [...texts].map((text) => text.trim()).filter(Boolean);
}"""
# What a table that lacks an entry, or a function that was not called, looks like on a screen.
RAW = re.compile(r"undefined|\[object|=>|\bNaN\b|\$\{|\bnull\b")


def german(phone: PhoneOf, **more: Any) -> Page:
    return phone("Kit", role="lead", locale="de-DE", **more)


def test_both_languages_say_the_same_things(phone: PhoneOf) -> None:
    shapes = phone("Kit").evaluate(SHAPES, PARTS)

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
    whole(page)
    names = page.evaluate("() => performance.getEntriesByType('resource').map((one) => one.name)")
    assert any("words/en-late.js" in name for name in names)
    assert not any("words/de" in name for name in names)
    assert "en-late" not in page.content()  # and what comes later is not on the way to the first screen


@pytest.mark.parametrize("locale", ["en-GB", "de-DE"])
def test_numbers_are_written_as_the_browser_would_write_them(phone: PhoneOf, locale: str) -> None:
    assert phone("Kit", locale=locale).evaluate(NUMBERS) == [locale[:2], []]


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


def test_what_the_laptop_refuses_is_said_as_the_phone_speaks(phone: PhoneOf) -> None:
    mo, kit = phone("Mo"), german(phone)
    to_sheet(mo, 21, "Level")
    mo.click("text=Light up")
    mo.wait_for_selector(".tag .who >> text=In your hand")
    to_sheet(kit, 21, "Dimmer")
    kit.wait_for_selector(".tag[data-drive=other]")
    kit.click(".hand-row .hand")
    kit.wait_for_selector("#say >> text=Mo hat 21. Übernehmen?")
    kit.click("#say >> text=Lassen")
    to_screen(kit, "rig")
    kit.click("text=English")
    kit.wait_for_selector("[lang=en] #shelf >> text=Fixtures")
    to_sheet(kit, 21, "Level")
    kit.wait_for_selector(".tag[data-drive=other]")
    kit.click(".hand-row .hand")
    kit.wait_for_selector("#say >> text=Mo has 21. Take it?")


def test_what_the_laptop_refuses_at_the_door_is_said_as_the_phone_speaks(phone: PhoneOf) -> None:
    page = phone(locale="de-DE")
    page.fill("#name", "Kit")
    page.fill("#pin", "nonsense")
    page.click("text=Mitmachen")
    page.wait_for_selector("form [role=alert] >> text=Diese PIN hat keine Rolle.")


def test_an_alert_is_said_as_each_phone_speaks(phone: PhoneOf, server: Server) -> None:
    kit, mo = german(phone, place="#rig"), phone("Mo", "#rig")
    trouble = Trouble()
    for host in ("10.0.0.5", "10.0.0.6", "10.0.0.7", "10.0.0.8"):
        trouble.note(sentence_of(OSError(errno.ENETUNREACH, "")), host, 0.0)
    trouble.note(sentence_of(OSError(errno.ENETDOWN, "")), "", 0.0)
    english = trouble.words(0.0)
    shared = SharedMap(server.data / "demo" / "output.map")
    shared.set_error(english)
    try:
        mo.wait_for_selector(f".alerts >> text={english}")
        kit.wait_for_selector(
            ".alerts >> text=Kein Netz führt dorthin: 10.0.0.5, 10.0.0.6, 10.0.0.7 und 1 weitere. "
            "Steckt das Kabel, und ist die richtige Schnittstelle gewählt? "
            "Das Netz ist weg: Steckt das Kabel?"
        )
        kit.wait_for_selector("#status >> text=Kein Netz führt dorthin")
    finally:
        shared.set_error("")
        shared.close()


WHERE = ["{position} unit {unit}", {"position": "Bridge", "unit": "3"}]
UNIT = ["{channel} ({place})", {"channel": 7, "place": WHERE}]
FREE = ["The next free start is {start}.", {"start": 40}]
FLASH = "{what} makes light flash. Press and hold to use it."


@pytest.mark.parametrize(
    ("said", "english", "german_words"),
    [
        (
            ["The master goes from 0 to 1, not {value}.", {"value": 1.5}],
            "The master goes from 0 to 1, not 1.5.",
            "Der Master geht von 0 bis 1, nicht 1,5.",
        ),
        (
            ["A slot carries 0 to 255, not {level}.", {"level": -3}],
            "A slot carries 0 to 255, not -3.",
            "Ein Slot trägt 0 bis 255, nicht \u22123.",
        ),
        # A sentence in a sentence.
        (
            ["{unit}: {problem}", {"unit": UNIT, "problem": FREE}],
            "7 (Bridge unit 3): The next free start is 40.",
            "7 (Bridge Nr. 3): Der nächste freie Anfang ist 40.",
        ),
        # A profile's words are known, a person's are theirs.
        (
            [FLASH, {"what": "Random strobe"}],
            "Random strobe makes light flash. Press and hold to use it.",
            "„Zufallsstrobe“ lässt Licht blitzen. Zum Benutzen drücken und halten.",
        ),
        (
            ["{name} has {unit}, not you.", {"name": "Open", "unit": 3}],
            "Open has 3, not you.",
            "Open hat 3, nicht du.",
        ),
        # What nobody translated is said whole, as it came.
        (["{who} has {unit}.", {"who": "Mo", "unit": 0.5}], "Mo has 0.5.", "Mo has 0.5."),
        (["constructor"], "constructor", "constructor"),
        (None, "No pattern came along.", "No pattern came along."),
    ],
)
def test_a_sentence_of_the_laptop(phone: PhoneOf, said: Any, english: str, german_words: str) -> None:
    say = """async (told) => {
      const base = document.querySelector('script[type=module]').src.replace('app.js', '');
      const words = await import(`${base}words/words.js`);
      await words.fetchLaptopWords();
      return words.said(told);
    }"""
    told = {"why": english} if said is None else {"why": english, "said": said}
    assert german(phone).evaluate(say, told) == german_words
    assert phone("Mo").evaluate(say, told) == english


def test_steps_are_called_in_german_and_sent_as_the_profile_calls_them(
    phone: PhoneOf, server: Server
) -> None:
    let_go_of_all(server)
    page = german(phone)
    to_sheet(page, 24, "Strahl")  # the others of its kind may still be busy with an earlier recalibration
    page.click(".picker >> text=Shutter")
    page.wait_for_selector(".chips >> text=Offen")
    assert "Open" not in page.inner_text(".chips")
    page.click("#shelf >> text=Mehr")
    page.click(".picker >> text=Befehle")
    Thumb(page).hold(".acts fc-hold:has-text('Alles neu einmessen')")
    page.wait_for_selector("#say >> text=/Alles neu einmessen.*: an 24 geschickt/")


def test_a_profile_that_somebody_brought_is_shown_as_it_was_written(phone: PhoneOf) -> None:
    page = german(phone)
    page.wait_for_selector(".row >> text=Prof6")
    called = """async (maker) => {
      const base = document.querySelector('script[type=module]').src.replace('app.js', '');
      const { named } = await import(`${base}words/words.js`);
      return named({ key: 'x', name: 'Stage fan', short_name: 'Fan', maker, kind: 'light', modes: [] }).name;
    }"""
    assert page.evaluate(called, "Somebody") == "Stage fan"
    assert page.evaluate(called, "Generic") == "Bühnenventilator"


def test_no_english_is_left_on_a_german_phone(phone: PhoneOf, server: Server) -> None:
    page = german(phone)
    foreign = [
        re.compile(".+".join(map(re.escape, re.split("\x01|987", one))))
        for one in page.evaluate(FOREIGN, PARTS)
    ]
    assert len(foreign) > 500
    rig = server.client("lead").get("/api/fixtures").json()
    typed = {one[name] for one in rig for name in ("purpose", "position")}  # in whatever language
    found = {}
    wide = german(phone, viewport={"width": 1400, "height": 900}, is_mobile=False)

    def everywhere() -> Iterator[tuple[str, Page]]:
        page.wait_for_selector(".row >> text=Prof6")
        whole(page)
        whole(wide)
        yield from ((place, page) for place in places(page, GERMAN))
        to_screen(page, "several/demo-21,demo-22")
        yield "several", page
        wide.click("[data-id=demo-21]")
        wide.wait_for_selector(".panel .pane > *")
        yield "board", wide

    for place, here in everywhere():
        shown = set(here.evaluate(SHOWN)) - typed
        if left := [text for text in shown if any(one.fullmatch(text) for one in foreign)]:
            found[place] = left
    assert not found


def test_a_nudge_of_white_is_as_long_as_its_name_says(phone: PhoneOf) -> None:
    page = german(phone)
    to_sheet(page, 54, "Farbe")
    near = """([wanted, about]) => {
      const mired = parseInt(document.querySelector('.colour-words').textContent);
      return Math.abs(mired - wanted) < about && mired;
    }"""
    page.click(".rule >> text=4300")
    mired = page.wait_for_function(near, arg=[1e6 / 4300, 2]).json_value()
    for name, step in (("Grob", 20), ("Fein", 5), ("Feinst", 1)):
        page.click(f".fineness >> text='{name}'")
        page.click(".nudge.up")  # up is cooler, and goes to a whole step
        mired = page.wait_for_function(near, arg=[mired - step, max(step / 2, 1)]).json_value()
