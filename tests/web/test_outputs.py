"""Where universes go, changed by the lead on the page: said in words first, refused in place, then done."""

from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.servers import QUICK_PINS, Ear, serving
from tests.web.conftest import NAME, phones

__all__: list[str] = []

SMALL = """() => [...document.querySelectorAll('main :is(button, a, input, summary)')]
  .filter((node) => node.checkVisibility())
  .map((node) => [node.textContent, node.getBoundingClientRect()])
  .filter(([, box]) => box.width < 48 || box.height < 48)"""
TYPED = """() => {
  const field = document.querySelector(".editor input[maxlength='40']");
  field.dispatchEvent(new Event('input'));
  return document.querySelector('.editor .ends .main').disabled;
}"""
WIDER = "() => document.querySelector('main').scrollWidth > document.querySelector('main').clientWidth"


def _clean(page: Page) -> None:
    assert not page.evaluate(SMALL)
    assert not page.evaluate(WIDER)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def _card(universe: int) -> str:
    return f".routes > li:has(h2:text-is('Universe {universe}'))"


def test_the_lead_sends_a_universe_elsewhere_and_sees_before_what_it_does(
    tmp_path: Path, chromium: Browser
) -> None:
    ear = Ear()
    try:
        with (
            serving(tmp_path / "data", name=NAME, first=QUICK_PINS) as server,
            phones(chromium, server) as phone,
        ):
            ann = phone("Ann", "#rig", role="lead")
            ann.click(".ways >> text=Where levels go")
            ann.wait_for_selector(f"{_card(3)} >> text=as the laptop was started")
            _clean(ann)
            ann.click(f"{_card(3)} >> text=Change")
            ann.wait_for_selector(".foreseen >> text=All stays as it is.")
            assert ann.is_disabled(".editor .ends .main")
            ann.click(".editor >> text=Outputs of its own")
            ann.fill(".editor fieldset:first-of-type input[maxlength='15']", "10.0.0.255.1")
            ann.wait_for_selector(".editor .why >> text=Write an address like 10.0.0.21")
            ann.fill(".editor fieldset:first-of-type input[maxlength='15']", "127.0.0.1")
            ann.get_by_label("sACN universe there").fill("1")
            ann.wait_for_selector(".editor .why >> text=Universe 1 goes there already")
            assert ann.is_disabled(".editor .ends .main")
            ann.get_by_label("sACN universe there").fill("x")
            ann.wait_for_selector(".editor .why >> text=Type whole numbers.")
            # That another field is well does not make this one so.
            asked = list[str]()
            ann.on("request", lambda request: asked.append(request.url))
            ann.get_by_label("Priority (0 to 200)").fill("12")
            ann.evaluate("() => new Promise((done) => setTimeout(done, 250))")  # as long as the page waits
            assert not [url for url in asked if url.endswith("/check")]
            assert ann.inner_text(".editor .why") == "Type whole numbers."
            ann.get_by_label("sACN universe there").fill("700")
            ann.wait_for_selector(".editor .ends .main:enabled")
            assert ann.evaluate(TYPED), "nothing can be done that was not said before"
            ann.get_by_label("Port", exact=True).first.fill(str(ear.port))
            ann.get_by_label("Priority (0 to 200)").fill("120")
            ann.get_by_label("Name").first.fill("Spare")
            told = f"Spare: sACN 700 to 127.0.0.1:{ear.port}, priority 120"
            ann.wait_for_selector(f".foreseen li:has-text('Begins:') >> text={told}")
            ann.wait_for_selector(".foreseen li:has-text('Ends:') >> text=sACN 3 to")
            ann.wait_for_selector(".foreseen li:has-text('Stays:') >> text=Art-Net 3 (0:0:3)")
            _clean(ann)
            # Another lead, in German, sees what is so; what Ann types is not so yet.
            eva = phone("Eva", "#outputs", role="lead", locale="de-DE")
            eva.wait_for_selector(".routes >> text=Universum 3")
            assert "Spare" not in eva.inner_text(".routes")
            ann.click(".editor .ends .main")
            ann.wait_for_selector(f"{_card(3)}:not([data-open]) >> text=outputs of its own")
            ear.until(lambda: ear.sacn(700), "universe 3 as 700")
            eva.wait_for_selector(f".lines >> text=Spare: sACN 700 an 127.0.0.1:{ear.port}, Priorität 120")
            _clean(eva)

            # Another protocol: what goes with the one before does not stay.
            ann.click(f"{_card(3)} >> text=Change")
            ann.click(".editor fieldset:first-of-type >> text='Art-Net'")
            ann.click(".editor fieldset:first-of-type >> text=Everybody")
            ann.wait_for_selector(".editor .caution")
            ann.click(".editor fieldset:first-of-type >> text=Nodes that serve it")
            ann.get_by_label("Port-Address there").first.fill("4660")
            ann.wait_for_selector(".parts >> text=net 18, sub-net 3, universe 4")
            ann.wait_for_selector(".foreseen >> text=Art-Net 4660 (18:3:4) to the nodes that serve it")
            ann.click(".editor >> text=As the laptop was started")
            ann.wait_for_selector(".foreseen li:has-text('Ends:') >> text=Spare")
            ann.click(".editor .ends .main")
            ann.wait_for_selector(f"{_card(3)}:not([data-open]) >> text=as the laptop was started")

            ann.fill("#sync-universe", "7962")
            ann.click(".sync form .main")
            ann.wait_for_selector(".syncing >> text=Now: sACN on universe 7962.")
            eva.wait_for_selector(".syncing >> text=Jetzt: sACN auf Universum 7962.")
            # The pause before it, too: within its limits, kept, and empty again.
            ann.fill("#sync-pause", "2,5")
            ann.press("#sync-pause", "Enter")
            eva.wait_for_function("() => document.querySelector('#sync-pause').value === '2,5'")
            for typed, why in (("11", "0 to 10 ms, not 11."), ("fast", "a number like 2 or 2.5")):
                ann.fill("#sync-pause", typed)
                ann.press("#sync-pause", "Enter")
                ann.wait_for_selector(f".syncing .why >> text={why}")
            ann.fill("#sync-pause", "")
            ann.click(".syncing form:has(#sync-pause) .main")
            eva.wait_for_function("() => document.querySelector('#sync-pause').value === ''")
            assert eva.get_attribute("#sync-pause", "placeholder") == "1, wie sonst"
            # Crew see it, and change nothing.
            mo = phone("Mo", "#outputs")
            mo.wait_for_selector(f"{_card(3)}")
            assert mo.locator("main button, main input").count() == 0
            assert mo.locator("main input").count() == 0
    finally:
        ear.close()
