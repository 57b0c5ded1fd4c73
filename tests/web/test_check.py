"""A rig check on two phones at once: one press a unit, a fault with a photo, and on after a kill -9."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.api.answers import given
from tests.photos import WHERE, jpeg
from tests.servers import Server, serving
from tests.web.conftest import NAME, phones
from tests.web.phones import PhoneOf

__all__: list[str] = []

SMALL = """() => [...document.querySelectorAll('main :is(button, a, input:not(.unseen), summary)')]
  .filter((node) => node.checkVisibility())
  .map((node) => [node.textContent, node.getBoundingClientRect()])
  .filter(([, box]) => box.width < 48 || box.height < 48)"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: it is killed."""
    with serving(tmp_path_factory.mktemp("check") / "data", name=NAME) as running:
        yield running


@pytest.fixture
def phone(chromium: Browser, server: Server) -> Iterator[PhoneOf]:
    with phones(chromium, server) as one:
        yield one


def axe(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def _start(page: Page, where: str) -> None:
    page.tap(f".places > button:has(b:text-is('{where}'))")
    page.wait_for_selector(".thumbs .works")


def _at(page: Page, channel: int) -> None:
    page.wait_for_function(
        "n => document.querySelector('.tag .channel')?.textContent === n"
        " && !document.querySelector('.thumbs[aria-busy]')",
        arg=str(channel),
    )


def test_two_phones_check_two_places_and_a_killed_server_loses_nothing(
    phone: PhoneOf, server: Server, tmp_path: Path
) -> None:
    mo, kit = phone("Mo", "#check"), phone("Kit", "#check")
    assert mo.evaluate("!isSecureContext")
    mo.wait_for_selector(".places > button")
    assert not mo.evaluate(SMALL)
    axe(mo)
    _start(mo, "Bridge")
    _start(kit, "LX 1")
    _at(mo, 1)
    # One press: 2 is lit, then 1 goes; the other phone sees how far it is and who is where.
    server.sacn.until_slot(1, 1, 128)
    mo.tap(".thumbs .works")
    _at(mo, 2)
    server.sacn.until_slot(1, 2, 128)
    kit.wait_for_function(
        "() => document.querySelector('.progress .told')?.textContent?.startsWith('1\u202f/')"
    )
    kit.wait_for_function("() => document.querySelector('.progress .hint')?.textContent === 'Mo: Bridge, 2'")
    # A fault: reason, words and a photo, which the page makes small and bare before it leaves.
    picture = tmp_path / "photo.jpg"
    picture.write_bytes(jpeg(size=(1600, 1200)))
    mo.tap(".thumbs .wrong")
    assert mo.is_disabled(".asked .main")
    mo.tap("[data-reason=flickers]")
    mo.fill(".asked input[type=text]", "at the top")
    mo.set_input_files(".photo input", picture)
    mo.wait_for_selector(".photo img:not([hidden])")
    # Its longer side cut down, and turned upright as the phone had written beside it (Exif orientation 6).
    mo.wait_for_function("() => document.querySelector('.photo img').naturalHeight === 1280")
    assert not mo.evaluate(SMALL)
    axe(mo)
    mo.tap(".asked .main")
    _at(mo, 3)
    # Killed in the middle: verdicts and both places are there again, and so is the light.
    server.kill()
    mo.wait_for_selector("[data-link=none], [data-link=waiting]")
    server.start()
    mo.wait_for_selector("[data-link=live]")
    mo.reload()
    _at(mo, 3)
    kit.wait_for_selector("[data-link=live]")
    _at(kit, 21)
    crew = server.client("crew")
    works, fault = given(crew.get("/api/check/rounds/1"))
    assert (works["channel"], works["works"], works["by"]) == (1, True, "Mo")
    assert (fault["channel"], fault["reason"], fault["note"]) == (2, "flickers", "at the top")
    kept = crew.get(f"/api/photos/{fault['photo']}").content
    assert len(kept) < 400 * 1024 < len(picture.read_bytes())
    assert WHERE not in kept
    server.sacn.until_slot(1, 3, 128)
    # A one-button remote sends a key: the same as the large button, wherever the focus is.
    mo.focus(".thumbs .wrong")
    mo.keyboard.press("PageDown")
    _at(mo, 4)
    mo.tap(".thumbs >> text=Back")
    _at(mo, 3)
    kit.tap(".thumbs >> text=Stop")
    kit.wait_for_selector(".places > button:has(b:text-is('Bridge')) >> text=3\u202f/\u202f15")


def test_a_walk_tries_what_a_unit_can_do_and_a_german_phone_says_so(phone: PhoneOf, server: Server) -> None:
    eva = phone("Eva", "#check", locale="de-DE")
    eva.wait_for_selector(".places > button")
    _start(eva, "LX 3")
    eva.tap(".tries .walk >> nth=0")
    eva.wait_for_function("() => /, 2\u202f.\u202f/.test(document.querySelector('.tries .walk').textContent)")
    eva.tap(".tries .walk >> nth=0")
    eva.tap(".thumbs .wrong")
    text = eva.inner_text("main")
    assert "Flackert" in text
    assert not {"Flickers", "Write it down", "Works", "next"} & set(text.split())
    eva.tap(".asked >> text=Lassen")
    eva.tap(".thumbs >> text=Ende")
    eva.wait_for_selector(".places > button")


def test_the_lead_begins_a_new_round_and_the_old_one_stays_to_be_read(phone: PhoneOf, server: Server) -> None:
    ada = phone("Ada", "#check", role="lead")
    ada.tap(".levels >> text=25")
    ada.wait_for_selector(".levels [aria-pressed=true] >> text=25")
    ada.focus(".leads fc-hold button")
    ada.keyboard.down("Enter")
    ada.wait_for_function(
        "() => document.querySelector('.progress .told')?.textContent?.startsWith('0\u202f/')"
    )
    ada.keyboard.up("Enter")
    ada.tap("summary >> text=Checks so far")
    ada.wait_for_selector(".earlier > li >> nth=1")
    assert "1 fault" in ada.inner_text(".earlier > li >> nth=1")
    with ada.expect_download() as loading:
        ada.tap(".earlier > li >> nth=1 >> text=Table")
    table = Path(loading.value.path()).read_text(encoding="utf-8-sig")
    assert "fault,Flickers,at the top,50" in table
    _start(ada, "Floor")
    first = ada.evaluate("() => document.querySelector('.tag .channel').textContent")
    mo = phone("Mo", "#check")
    mo.wait_for_function(
        "n => document.querySelector('.progress .hint')?.textContent?.includes(n)", arg=first
    )
