"""The show as a file, on the page: a copy out, and in again with what it does said first."""

from pathlib import Path

from playwright.sync_api import Browser, Page

from server.journal.travel import unpack
from tests.servers import serving
from tests.web.conftest import NAME, phones
from tests.web.phones import PhoneOf, Thumb, to_screen

__all__: list[str] = []


def _choose(page: Page, file: Path) -> None:
    with page.expect_file_chooser() as chooser:
        page.tap("text=Bring a show in")
    chooser.value.set_files(file)


def test_a_copy_is_kept_and_brought_in_again(chromium: Browser, tmp_path: Path) -> None:
    with serving(tmp_path / "data", name=NAME) as server, phones(chromium, server) as phone:
        page = phone("Ada", "#rig", role="lead")
        with page.expect_download() as loading:
            page.tap("text=Keep a copy")
        assert loading.value.suggested_filename.endswith(".focuscall")
        kept = tmp_path / "kept.focuscall"
        loading.value.save_as(kept)
        assert "demo-1" in unpack(kept.read_bytes()).fixtures
        server.client("lead").delete("/api/fixtures/demo-1").raise_for_status()
        page.wait_for_function(
            "async () => !(await fetch('/api/fixtures').then((a) => a.text())).includes('demo-1\"')"
        )
        _choose(page, kept)
        told = page.locator("dialog")
        told.wait_for()
        fixtures = len(unpack(kept.read_bytes()).fixtures)
        assert f"In this file: {fixtures} fixtures" in told.inner_text()
        assert f"It takes the place of {fixtures - 1} fixtures" in told.inner_text()
        Thumb(page).hold("dialog fc-hold button")
        page.wait_for_selector("#say >> text=it is in")
        to_screen(page, "fixtures")
        page.wait_for_selector("a[href='#fixture/demo-1']")

        to_screen(page, "rig")
        wrong = tmp_path / "wrong.focuscall"
        wrong.write_bytes(b"Dear all, the get-in is at nine.")
        _choose(page, wrong)
        page.wait_for_selector("#say >> text=This is not a show file")


def test_while_hands_are_on_a_fixture_the_page_says_so_and_offers_nothing(
    chromium: Browser, tmp_path: Path
) -> None:
    with serving(tmp_path / "data", name=NAME) as server, phones(chromium, server) as phone:
        kept = tmp_path / "kept.focuscall"
        kept.write_bytes(server.client("lead").get("/api/show/export").content)
        assert server.phone("crew").ask("hands_on", fixture="demo-21", on=True)["is"] == "ok"
        page = phone("Ada", "#rig", role="lead")
        _choose(page, kept)
        page.wait_for_selector("dialog >> text=another show comes in once they are off")
        assert page.locator("dialog fc-hold").count() == 0


def test_only_the_lead_is_offered_it(phone: PhoneOf) -> None:
    page = phone("Kit", "#rig")
    page.wait_for_selector(".phone")
    assert page.locator(".show-file").count() == 0
