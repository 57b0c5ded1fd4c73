"""The register of faults on a phone: opened, asked about, fixed by one and seen to work by another."""

from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.servers import Server
from tests.web.phones import PhoneOf, to_sheet

__all__: list[str] = []

SMALL = """() => [...document.querySelectorAll('main :is(button, a, input:not(.unseen), summary)')]
  .filter((node) => node.checkVisibility())
  .map((node) => [node.textContent, node.getBoundingClientRect()])
  .filter(([, box]) => box.width < 48 || box.height < 48)"""


def _clean(page: Page) -> None:
    assert not page.evaluate(SMALL)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_a_fault_is_followed_to_its_cause_fixed_and_seen_to_work(phone: PhoneOf, server: Server) -> None:
    mo = phone("Mo")
    to_sheet(mo, 61, "More")
    mo.tap(".unit >> text=Flickers")
    mo.wait_for_selector(".tag .fault-mark >> text=Flickers")
    mo.tap(".unit >> text=What was wrong before")
    mo.wait_for_selector(".cases > li[data-status=open]")
    # Three answers lead from what it does to what to look at; that is one more thing said of it.
    mo.tap(".guide .chips >> text=Flickers")
    for answer in ("No", "Yes", "No"):
        mo.wait_for_selector(".question:not([data-cause])")
        before = mo.inner_text(".question")
        mo.wait_for_timeout(450)  # sooner it would be a glove's second touch, which answers nothing
        mo.tap(f".asking .ends >> text={answer}")
        mo.wait_for_function("was => document.querySelector('.question').textContent !== was", arg=before)
    assert "terminator" in mo.inner_text(".question[data-cause]")
    assert "would not be heard" in mo.inner_text(".facts")
    _clean(mo)
    mo.tap(".asking >> text=Write it down")
    mo.tap(".cases summary")
    mo.wait_for_selector(".story >> text=No terminator")
    mo.fill(".acts input[type=text]", "terminator put on")
    # What others report takes away nothing that is being typed.
    pat = server.phone("crew")
    with mo.expect_response("**/api/faults?*"):
        pat.ask("fault", fixture="demo-62", words="Hums")
    with mo.expect_response("**/api/faults?*"):
        pat.ask("fault", fixture="demo-62", words=None)
    assert mo.input_value(".acts input[type=text]") == "terminator put on"
    mo.tap(".acts .ends >> text=Fixed")
    mo.wait_for_selector(".cases > li[data-status=fixed]")
    # Somebody else finds it among the fixed ones, in German, and has seen it work.
    eva = phone("Eva", "#faults", locale="de-DE")
    eva.tap(".choice >> text=Behoben")
    eva.wait_for_selector(".cases > li[data-status=fixed]")
    assert "Fehler: Flackert" in eva.inner_text(".cases summary")
    eva.tap(".cases summary")
    _clean(eva)
    eva.tap(".acts .ends >> text=Geht, gesehen")
    eva.wait_for_selector(".cases > li", state="detached")
    mo.wait_for_selector(".cases > li[data-status=verified]")
    with eva.expect_download() as loading:
        eva.tap("text=Fehler als Tabelle")
    assert "terminator put on" in Path(loading.value.path()).read_text(encoding="utf-8-sig")
