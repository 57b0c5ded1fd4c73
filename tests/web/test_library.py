"""The profiles of the laptop, on the page: files taken in and told one by one, found, starred, looked at."""

from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from server.places import profiles_folder
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode
from tests.paperwork.test_reader import packed
from tests.servers import serving
from tests.web.conftest import NAME, phones
from tests.web.phones import to_screen
from tests.web.test_access import COVERED, TOO_SMALL, TOO_WIDE

__all__: list[str] = []

DONE = "() => document.querySelector('.going progress')?.hidden && !document.querySelector('.going').hidden"


def _named(name: str) -> bytes:
    return gdtf(fixture(mode(channel("Dimmer", 1)), Name=name, LongName=name, Manufacturer="Shore"))


def _folder(at: Path) -> Path:
    """As somebody would have it: folders, a zip, a file that is damaged, one of which half can be used."""
    twice = mode(channel("Dimmer", 1), channel("Dimmer", 1), name="two")
    half = fixture(mode(channel("Dimmer", 1)), twice, Name="Tern", LongName="")
    (at / "inside" / "deeper").mkdir(parents=True)
    (at / "gull.gdtf").write_bytes(_named("Gull"))
    (at / "inside" / "tern.gdtf").write_bytes(gdtf(half))
    (at / "inside" / "deeper" / "broken.gdtf").write_bytes(b"PK broken")
    (at / "inside" / "deeper" / "empty.json").write_bytes(b"")
    (at / "inside" / "flame.gdtf").write_bytes(_named("Flame jet"))
    (at / "many.zip").write_bytes(packed(*((f"{n}.gdtf", _named(f"Plover {n}")) for n in range(45))))
    (at / "notes.txt").write_text("no profile")
    return at


def _fits(page: Page) -> None:
    for look in (TOO_SMALL, TOO_WIDE, COVERED):
        assert page.evaluate(look) == []


def test_a_folder_is_taken_in_and_every_file_is_accounted_for(chromium: Browser, tmp_path: Path) -> None:
    folder = _folder(tmp_path / "files")
    with serving(tmp_path / "data", name=NAME) as server, phones(chromium, server) as phone:
        page = phone("Ada", "#rig", role="lead")
        page.tap(".ways >> text=Profiles")
        page.wait_for_selector(".profiles li")
        page.locator(".bring input[webkitdirectory]").set_input_files(str(folder))
        page.wait_for_function(DONE)
        told = page.locator(".going [role=status]").inner_text()
        # Gull, Tern without one of its modes, 45 in the zip; the damaged, the empty, the flame; notes.txt.
        assert told == (
            "47 profiles taken in. 1 not quite whole: see below. 3 files not taken in. "
            "1 file of other kinds left out."
        )
        failed = page.locator(".told > .failed").all_inner_texts()
        names = sorted(text.partition("\n")[0] for text in failed)
        assert names == ["broken.gdtf", "empty.json", "flame.gdtf"]
        assert any("never drives flame" in text for text in failed)
        page.tap(".told summary >> text=could not be taken over")
        assert "mode two" in page.locator(".told ul").first.inner_text()
        with page.expect_download() as loading:
            page.tap("text=Keep the whole report")
        loading.value.save_as(tmp_path / "report.txt")
        report = (tmp_path / "report.txt").read_text()
        assert report.count("shore-plover-") == 45
        assert "notes.txt\t-" in report
        _fits(page)
        assert Axe().run(page).response["violations"] == []

        page.fill("main input[type=search]", "shore plover 1 slot")
        page.wait_for_selector("text=45 found.")
        page.tap(".star[aria-label='Star: Plover 44']")
        page.wait_for_selector(".star[aria-pressed=true]")
        page.wait_for_function(
            "async () => (await fetch('/api/profiles?most=1').then((a) => a.json()))[0].starred"
        )
        page.reload()
        page.wait_for_selector(".profiles li:first-child >> text=Plover 44")

        # Files dropped anywhere; one of the folder of ours that is there already is no second one.
        ours = (profiles_folder() / "dimmer.json").read_text()
        page.evaluate(
            """(text) => {
              const dropped = new DataTransfer();
              dropped.items.add(new File([text], 'again.json'));
              const how = { dataTransfer: dropped, bubbles: true, cancelable: true };
              document.querySelector('h1').dispatchEvent(new DragEvent('drop', how));
            }""",
            ours,
        )
        page.wait_for_selector(".going >> text=1 profile taken in.")
        page.wait_for_function(DONE)
        page.evaluate("() => { location.hash = '#library/dimmer' }")
        page.wait_for_selector(".mode")
        page.tap(".mode summary >> nth=1")
        page.wait_for_selector(".mode:nth-of-type(2) .slots >> text=1 + 2")
        dimmers = [f for f in server.client().get("/api/fixtures").json() if f["profile"] == "dimmer"]
        assert page.locator("#users ~ .chips a").count() == len(dimmers) > 1
        _fits(page)
        to_screen(page, "library/hazer")
        page.wait_for_selector(".caution >> text=Guarded")
        page.tap("text=All profiles")
        page.wait_for_selector(".profiles li")


def test_what_is_being_taken_in_can_be_stopped_and_what_came_stays(chromium: Browser, tmp_path: Path) -> None:
    # Each costs the reader a moment; the page asks to stop once the first has come.
    many = packed(*((f"{n}.gdtf", _named(f"Knot {n}")) for n in range(3000)))
    (tmp_path / "many.zip").write_bytes(many)
    with serving(tmp_path / "data", name=NAME) as server, phones(chromium, server) as phone:
        page = phone("Ada", "#library", role="lead")
        page.wait_for_selector(".profiles li")
        page.locator(".bring input[accept]").set_input_files(str(tmp_path / "many.zip"))
        page.wait_for_function("() => document.querySelector('.going progress').value > 0")
        page.tap(".going >> text=Stop")
        page.wait_for_selector("text=Stopped. What was taken in stays.")
        count = int(page.locator(".going [role=status]").inner_text().partition(" ")[0])
        assert 0 < count < 3000
        page.wait_for_selector("text=Knot 0")
        server.client().get("/api/health").raise_for_status()
