"""Papers and labels from the page: what was chosen is what comes."""

import zipfile
from pathlib import Path
from urllib.parse import parse_qs, urlparse

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.papers import Read, read
from tests.servers import Server
from tests.web.phones import PhoneOf, to_sheet
from tests.web.places import in_shade

__all__: list[str] = []

SMALL = """() => [...document.querySelectorAll('.papers :is(button, a, input, summary)')]
  .filter((node) => node.checkVisibility())
  .map((node) => [node.textContent || node.id, node.getBoundingClientRect()])
  .filter(([, box]) => box.width < 48 || box.height < 48)"""


def _opened(page: Page) -> Page:
    page.wait_for_selector(".papers summary")
    page.locator(".papers summary").tap()
    page.wait_for_selector(".papers .labels")
    return page


def _loaded(page: Page, folder: Path, name: str) -> Read:
    with page.expect_download() as loading:
        page.tap(f".papers >> text={name}")
    kept = folder / loading.value.suggested_filename
    loading.value.save_as(kept)
    return read(kept.read_bytes())


def test_crew_load_each_paper_in_the_size_and_language_they_chose(phone: PhoneOf, tmp_path: Path) -> None:
    page = _opened(phone("Kit", "#rig"))
    page.tap(".papers >> text=US Letter")
    page.tap(".papers >> text=Deutsch")
    found = _loaded(page, tmp_path, "Fault report")
    assert [round(side) for side in found.sizes[0]] == [279, 216]
    assert "Fehlerbericht" in found.pages[0]
    assert page.locator(".papers .lists a").count() == 6
    page.reload()
    _opened(page)
    assert page.locator(".papers >> text=US Letter").get_attribute("aria-pressed") == "true"


def test_labels_of_one_position_begin_where_the_sheet_is_unused(phone: PhoneOf, tmp_path: Path) -> None:
    page = _opened(phone("Kit", "#rig"))
    page.tap(".papers >> text=21 on A4")
    page.fill("#label-skip", "18")
    page.tap(".papers .chips >> text=Boom left")
    found = _loaded(page, tmp_path, "Make 5 labels")
    assert len(found.pages) == 2  # three places are left on the first sheet
    assert found.text.count("Boom left") == 5


def test_labels_of_starred_fixtures_for_a_roll(phone: PhoneOf, tmp_path: Path) -> None:
    page = phone("Kit")
    to_sheet(page, 21)
    page.tap(".punch")
    page.evaluate("location.hash = '#rig'")
    _opened(page)
    page.tap(".papers >> text=A roll")
    page.fill("#label-width", "62")
    page.fill("#label-height", "28,5")
    page.tap(".papers .chips >> text=Starred")
    found = _loaded(page, tmp_path, "Make 1 label")
    assert [round(side, 1) for side in found.sizes[0]] == [62.0, 28.5]
    assert "Special A" not in found.text
    assert "LX 1, unit 1" in found.text


def test_what_cannot_be_is_said_before_it_is_asked(phone: PhoneOf) -> None:
    page = _opened(phone("Kit", "#rig"))
    page.fill("#label-skip", "24")
    assert "0 to 23" in page.locator(".papers .why").inner_text()
    assert page.locator(".papers .labels a").get_attribute("href") is None
    page.fill("#label-skip", "23")
    assert page.locator(".papers .why").inner_text() == ""
    asked = urlparse(page.locator(".papers .labels a").get_attribute("href"))
    assert parse_qs(str(asked.query))["skip"] == ["23"]
    page.tap(".papers >> text=A roll")
    page.fill("#label-width", "two")
    assert "mm wide" in page.locator(".papers .why").inner_text()


def test_the_lead_hands_over_with_one_press_and_sees_what_is_otherwise_than_the_last_time(
    phone: PhoneOf, server: Server, tmp_path: Path
) -> None:
    page = phone("Ada", "#rig", role="lead")
    page.wait_for_selector(".handover .main")
    with page.expect_download() as loading:
        page.tap(".handover .main")
    pack = tmp_path / loading.value.suggested_filename
    loading.value.save_as(pack)
    with zipfile.ZipFile(pack) as archive:
        assert "Hand-over" in read(archive.read("handover.pdf")).pages[0]
        assert "tables/looks.csv" in archive.namelist()
    client = server.client("lead")
    was = next(f["address"] for f in client.get("/api/fixtures").json() if f["id"] == "demo-28")
    client.patch("/api/fixtures/demo-28", json={"address": 450}).raise_for_status()
    page.tap(".handover summary")
    page.wait_for_selector(".handover .told >> text=Another address (1)")
    assert "/450" in page.locator(".handover .told").inner_text()
    client.patch("/api/fixtures/demo-28", json={"address": was}).raise_for_status()
    for file, told in ((pack, "Nothing is different."), (__file__, "This is not a hand-over pack")):
        with page.expect_file_chooser() as chooser:
            page.tap(".handover >> text=from a file")
        chooser.value.set_files(file)
        page.wait_for_selector(f".handover >> text={told}")
    assert page.evaluate(SMALL.replace(".papers", ".handover")) == []
    assert Axe().run(page).violations_count == 0


def test_house_staff_are_not_offered_them(phone: PhoneOf) -> None:
    page = phone("Hal", "#rig", role="house")
    page.wait_for_selector(".phone")
    assert page.locator(".papers").count() == 0


def test_opened_they_are_clean_for_every_eye_and_thumb(phone: PhoneOf) -> None:
    for locale in ("en-GB", "de-DE"):
        page = _opened(phone("Kit", "#rig", locale=locale))
        page.locator(".papers .labels .choice button").last.tap()
        assert page.evaluate(SMALL) == []
        wide = "() => document.querySelector('main').scrollWidth - document.querySelector('main').clientWidth"
        assert page.evaluate(wide) <= 0
        for shade in ("dark", "day", "night", "sharp"):
            in_shade(page, shade)
            found = Axe().run(page)
            assert found.violations_count == 0, found.generate_report()
