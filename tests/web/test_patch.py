"""The patch table, by keyboard on a laptop and by thumb on a phone: typed, pasted, planned and undone."""

from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.api.answers import given
from tests.servers import Server, serving
from tests.web.conftest import NAME, phones
from tests.web.patch_table import COPIED, HERE, PASTE, cell, field, only, press, reads, undo_all
from tests.web.places import in_shade
from tests.web.test_access import AXE, COVERED, SHADES, TOO_SMALL, TOO_WIDE
from tests.web.test_list import BIG_RIG

__all__: list[str] = []

LAPTOP: dict[str, Any] = {
    "viewport": {"width": 1280, "height": 800},
    "has_touch": False,
    "is_mobile": False,
}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: its patch is changed, and some slots are reserved."""
    data = tmp_path_factory.mktemp("patch") / "data"
    data.mkdir()
    settings = f'names = ["{NAME}"]\n[[reserved]]\nuniverse = 1\nfirst = 400\nwhy = "visitors"\n'
    (data / "settings.toml").write_text(settings)
    with serving(data) as running:
        yield running


@pytest.fixture(scope="module")
def made(chromium: Browser, server: Server) -> Iterator[Any]:
    with phones(chromium, server) as one:
        yield one


@pytest.fixture(scope="module")
def laptop(made: Any) -> Page:
    page: Page = made("Kit", "#patch", role="lead", **LAPTOP)
    page.wait_for_selector("[data-id=demo-1] .of-place")
    return page


def test_arrows_home_and_end_move_one_cursor_and_tab_leaves_the_table(laptop: Page) -> None:
    cell(laptop, "demo-1", "channel")
    press(laptop, "ArrowDown", "ArrowRight", "ArrowRight", "ArrowUp")
    assert laptop.evaluate(HERE) == "demo-1 of-position"
    press(laptop, "End")
    assert laptop.evaluate(HERE) == "demo-1 of-notes"
    press(laptop, "Home")
    assert laptop.evaluate(HERE) == "demo-1 tick"
    press(laptop, "Control+End")
    assert laptop.evaluate(HERE) == "demo-83 of-notes"
    press(laptop, "Control+Home", "PageDown", "PageUp")
    assert laptop.evaluate(HERE) == "demo-1 tick"
    assert laptop.locator(".patch [tabindex='0']").count() == 1
    press(laptop, "Tab")
    assert not laptop.evaluate("() => !!document.activeElement.closest('.patch')")
    grid = laptop.locator("[role=grid]")
    assert grid.get_attribute("aria-rowcount") == "62"
    assert laptop.locator("[data-id=demo-3]").get_attribute("aria-rowindex") == "4"


def test_a_cell_is_typed_into_in_place_and_escape_leaves_it(laptop: Page, server: Server) -> None:
    cell(laptop, "demo-1", "purpose")
    laptop.keyboard.type("Quay")
    press(laptop, "Escape")
    assert laptop.evaluate(HERE) == "demo-1 of-purpose"
    laptop.keyboard.type("Quay")
    press(laptop, "Tab")
    assert laptop.evaluate(HERE) == "demo-1 of-profile"
    reads(laptop, "demo-1", "purpose", "Quay")
    press(laptop, "ArrowLeft", "F2", "End")
    laptop.keyboard.type(" left")
    press(laptop, "Enter")
    assert laptop.evaluate(HERE) == "demo-2 of-purpose"
    reads(laptop, "demo-1", "purpose", "Quay left")
    assert field(server, "demo-1", "purpose") == ["Quay left"]
    cell(laptop, "demo-2", "house")
    press(laptop, " ")
    reads(laptop, "demo-2", "house", "")
    undo_all(laptop)
    reads(laptop, "demo-1", "purpose", "Area 1 warm")
    reads(laptop, "demo-2", "house", "\u2713")
    press(laptop, "Control+y")
    reads(laptop, "demo-1", "purpose", "Quay")
    undo_all(laptop)


def test_what_is_wrong_is_said_while_it_is_typed_and_one_press_does_what_would_do(
    laptop: Page, server: Server
) -> None:
    cell(laptop, "demo-3", "place")
    laptop.keyboard.type("1.1")
    notes = laptop.locator("[data-id=demo-3] .notes-of")
    notes.get_by_text("listens at 1.1").wait_for()
    notes.get_by_role("button", name="Address 3").click()  # its own
    assert laptop.locator(".typing").count() == 0
    # Asked for all the same it stays as it was typed, and nothing is changed.
    cell(laptop, "demo-3", "place")
    laptop.keyboard.type("1.5")
    press(laptop, "Enter")
    notes.get_by_text("overlaps 5").wait_for()
    assert laptop.locator("[data-id=demo-3] .of-place").inner_text() == "1.5"
    assert field(server, "demo-3", "address") == [3]
    press(laptop, "ArrowUp", "Escape")
    reads(laptop, "demo-3", "place", "1.3")
    # Reserved slots may be meant: said, with another place, and done when it is wanted.
    laptop.keyboard.type("1.410")
    notes.get_by_text("visitors").wait_for()
    press(laptop, "Enter")
    reads(laptop, "demo-3", "place", "1.410")
    laptop.get_by_role("button", name="To look at: 1").wait_for()
    cell(laptop, "demo-3", "place")
    notes.get_by_text("visitors").wait_for()
    press(laptop, "Control+Enter")
    reads(laptop, "demo-3", "place", "1.3")
    cell(laptop, "demo-3", "place")
    laptop.keyboard.type("here")
    press(laptop, "Enter")
    notes.get_by_text("Write universe.address").wait_for()
    laptop.locator("[data-id=demo-3]").get_by_role("button", name="As it was").click()
    undo_all(laptop)
    reads(laptop, "demo-3", "place", "1.3")


def test_a_profile_is_searched_while_typing_and_taken_with_its_mode(laptop: Page, server: Server) -> None:
    only(laptop, "floor dimmer")
    cell(laptop, "demo-83", "profile")
    laptop.keyboard.type("fresnel")
    wanted = laptop.locator(
        ".offer [aria-label='LED fresnel with zoom'] [role=option]", has_text="5-slot 16 bit"
    )
    laptop.wait_for_selector(".offer:not([aria-busy])")
    assert laptop.locator(".offer [role=group]").count() < 6
    assert "5 slots" in wanted.inner_text()
    press(laptop, "ArrowDown")
    assert "5-slot 16 bit" in laptop.locator("[aria-selected=true][role=option]").inner_text()
    press(laptop, "Enter")
    reads(laptop, "demo-83", "mode", "5-slot 16 bit")
    assert field(server, "demo-83", "profile", "mode") == ["fresnel-led", "5-slot 16 bit"]
    cell(laptop, "demo-83", "mode")
    press(laptop, "Enter")
    laptop.locator("[role=option]", has_text="2-slot").first.click()
    reads(laptop, "demo-83", "mode", "2-slot")
    undo_all(laptop)
    reads(laptop, "demo-83", "mode", "1-slot")
    # Enter before the library has answered takes what was typed, not what was listed before.
    cell(laptop, "demo-83", "profile")
    laptop.keyboard.type("uv flood")
    press(laptop, "Enter")
    reads(laptop, "demo-83", "profile", "UV flood")
    assert field(server, "demo-83", "profile") == ["uv-flood"]
    undo_all(laptop)
    reads(laptop, "demo-83", "profile", "Dimmer")


def test_several_are_picked_and_one_field_of_all_is_changed_counting_up(laptop: Page, server: Server) -> None:
    only(laptop, "boom left")
    cell(laptop, "demo-51", "unit")
    press(laptop, "Shift+ArrowDown", "Shift+ArrowDown")
    assert laptop.locator(".patched[aria-selected=true]").count() == 3
    laptop.get_by_text("3 of 60 picked").wait_for()
    press(laptop, "Control+Enter")
    laptop.fill("#patch-value", "11")
    laptop.locator(".proposed").get_by_text("Unit 3 \u2192 13").wait_for()
    laptop.click("dialog >> text=Apply to 3")
    for fixture, unit in (("demo-51", "11"), ("demo-52", "12"), ("demo-53", "13")):
        reads(laptop, fixture, "unit", unit)
    laptop.wait_for_function("() => document.querySelector('.patched:focus-within')")
    press(laptop, "Control+z")  # one change
    reads(laptop, "demo-51", "unit", "1")
    assert field(server, "demo-53", "unit") == ["3"]
    press(laptop, "Control+a")
    laptop.get_by_text("5 of 60 picked").wait_for()
    press(laptop, "Escape")
    laptop.get_by_text("60 fixtures").wait_for()


def test_picked_ones_are_taken_out_and_come_back(laptop: Page, server: Server) -> None:
    only(laptop, "boom right")
    cell(laptop, "demo-61", "unit")
    press(laptop, "Shift+ArrowDown", "Delete")
    laptop.wait_for_selector("[data-id=demo-62]", state="detached")
    laptop.get_by_text("Taken out: 2 fixtures.").wait_for()
    laptop.click(".patch-tools >> text=Undo")
    laptop.wait_for_selector("[data-id=demo-62]")
    assert len(given(server.client().get("/api/fixtures"))) == 60


def test_a_block_from_a_spreadsheet_is_shown_before_it_applies(laptop: Page, server: Server) -> None:
    only(laptop, "")
    cell(laptop, "demo-1", "purpose")
    press(laptop, "Control+End")
    cell(laptop, "demo-82", "purpose")
    rows = [
        '"Moon, ""big"""\tdimmer\t1-slot\t3.300',
        "Lantern\tdimmers\t1-slot\t3.301",
        "Door\tdimmer\t1-slot\t3.302",
    ]
    laptop.evaluate(PASTE, "\r\n".join(rows) + "\r\n")
    laptop.locator("dialog").get_by_text("2 changed, 1 new, 1 with a problem").wait_for()
    assert laptop.locator("dialog >> text=Apply to 3").is_disabled()
    laptop.locator("dialog").get_by_role("button", name="Profile Dimmer").click()
    laptop.locator("dialog").get_by_text("2 changed, 1 new").wait_for()
    laptop.click("dialog >> text=Apply to 3")
    reads(laptop, "demo-82", "purpose", 'Moon, "big"')
    assert field(server, "demo-82", "purpose", "universe", "address") == ['Moon, "big"', 3, 300]
    assert given(server.client().get("/api/fixtures"))[-1]["purpose"] == "Door"
    # What was copied here is what can be pasted: the three that were just put are picked.
    lines = laptop.evaluate(COPIED).split("\n")
    assert lines[0].split("\t")[:4] == ["82", "8", "Floor", '"Moon, ""big"""']
    assert len(lines) == 3
    undo_all(laptop)
    assert field(server, "demo-82", "address") == [177]
    assert len(given(server.client().get("/api/fixtures"))) == 60


def test_headings_say_what_the_columns_of_new_rows_are(laptop: Page, server: Server) -> None:
    press(laptop, "Escape")
    laptop.click(".patch-tools >> text=Paste")
    laptop.fill(
        "#pasted",
        "Address\tUniverse\tProfile\tMode\tPosition\n1\t9\tdimmer\t1-slot\tGrid\n2\t9\tDimmer\t1-slot\tGrid\n",
    )
    laptop.locator("dialog").get_by_role("button", name="Apply to 2").wait_for()
    laptop.keyboard.press("Escape")
    laptop.wait_for_selector("dialog", state="detached")
    assert len(given(server.client().get("/api/fixtures"))) == 60


def test_new_ones_are_added_and_get_addresses_that_are_shown_first(laptop: Page, server: Server) -> None:
    laptop.click(".patch-tools >> text=Add")
    laptop.fill("#patch-kind", "hazer")
    laptop.locator("[role=option]", has_text="2-slot").first.wait_for()
    laptop.fill("#patch-kind", "moving wash")
    laptop.locator("[role=option]", has_text="17-slot 16 bit position").first.click()
    laptop.fill("#patch-count", "3")
    laptop.fill("#patch-position", "Truss")
    laptop.fill("#patch-unit", "1")
    laptop.click("dialog >> text=Apply to 3")
    laptop.get_by_text("3 of 63 picked").wait_for()
    laptop.click(".patch-tools >> text=Addresses")
    laptop.fill("#plan-from", "1.390")
    laptop.get_by_text("3 fixtures in 1 universe").wait_for()
    drawn = laptop.locator("figure svg")
    # Reserved slots stay free, and what hangs together stays together: 10 slots are too few for the first.
    laptop.locator(".planned .to", has_text="2.").first.wait_for()
    assert "51 slots new" in str(drawn.get_attribute("aria-label"))
    laptop.click("dialog >> text=Apply to 3")
    laptop.get_by_text("Done for 3 fixtures.").wait_for()
    listed = [f for f in given(server.client().get("/api/fixtures")) if f["position"] == "Truss"]
    assert [f["universe"] for f in listed] == [2, 2, 2]
    assert [f["channel"] for f in listed] == [96, 97, 98]
    laptop.wait_for_function("() => document.querySelector('.patched:focus-within')")
    undo_all(laptop)
    assert len(given(server.client().get("/api/fixtures"))) == 60


def test_what_comes_from_others_leaves_what_is_being_typed(laptop: Page, server: Server) -> None:
    lead = server.client()
    laptop.evaluate("() => { document.querySelector('.patch > .scroll').scrollTop = 0 }")
    cell(laptop, "demo-11", "notes")
    laptop.keyboard.type("half a")
    given(lead.patch("/api/fixtures/demo-11", json={"purpose": "Mooring", "notes": "theirs"}))
    reads(laptop, "demo-11", "purpose", "Mooring")
    added = {"profile": "dimmer", "mode": "1-slot", "position": "Bridge", "unit": "99"}
    fixture = given(lead.post("/api/fixtures", json=added), 201)["id"]
    laptop.get_by_text("61 fixtures").wait_for()
    laptop.keyboard.type(" word")
    assert laptop.locator(".typing").input_value() == "half a word"
    assert lead.delete(f"/api/fixtures/{fixture}").status_code == 204
    laptop.get_by_text("60 fixtures").wait_for()
    press(laptop, "Enter")
    reads(laptop, "demo-11", "notes", "half a word")
    given(lead.patch("/api/fixtures/demo-11", json={"purpose": "Ferry deck", "notes": ""}))


def test_a_thumb_does_it_on_a_phone(made: Any, server: Server) -> None:
    page: Page = made("Pia", "#patch", role="lead")
    page.wait_for_selector("[data-id=demo-1] .of-place")
    page.tap("[data-id=demo-2] .of-place")
    page.tap("[data-id=demo-2] .of-place")
    page.fill(".typing", "1.1")
    notes = page.locator("[data-id=demo-2] .notes-of")
    notes.get_by_text("listens at 1.1").wait_for()
    box = page.locator(".patch > .scroll").bounding_box()
    told = notes.get_by_role("button").first.bounding_box()
    assert box is not None
    assert told is not None
    assert told["y"] + told["height"] <= box["y"] + box["height"] + 1, "what would do is in sight"
    notes.get_by_role("button").first.tap()
    page.tap("[data-id=demo-1] .tick")
    page.tap("[data-id=demo-2] .tick")
    page.get_by_text("2 of 60 picked").wait_for()
    page.tap(".patch-tools >> text=Change 2")
    page.tap("dialog .fields >> text=Position")
    page.fill("#patch-value", "Truss")
    page.tap("dialog >> text=Apply to 2")
    reads(page, "demo-2", "position", "Truss")
    assert field(server, "demo-1", "position") == ["Truss"]
    page.tap(".patch-tools >> text=Undo")
    reads(page, "demo-2", "position", "Bridge")
    assert page.evaluate("() => document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("size", [(1280, 800), (390, 844)], ids=str)
def test_every_eye_sees_it_and_its_dialogs(made: Any, size: tuple[int, int]) -> None:
    page: Page = made("Ada", "#patch", role="lead", viewport={"width": size[0], "height": size[1]})
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text())
    page.locator("[data-id=demo-2] .of-place").tap()
    page.keyboard.press("Enter")
    page.fill(".typing", "1.1")
    page.wait_for_selector(".notes-of button")
    wrong: dict[str, Any] = {}

    def look(name: str) -> None:
        for shade in SHADES if name == "typing" else SHADES[:1]:
            in_shade(page, shade)
            found = page.evaluate(AXE)["violations"]
            if found:
                wrong[f"{name} {shade}"] = [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found]
        in_shade(page, "dark")

    look("typing")
    page.keyboard.press("Escape")
    for what in (TOO_SMALL, TOO_WIDE, COVERED):
        if found := page.evaluate(what):
            wrong[f"sizes {size[0]}"] = found
    page.locator("[data-id=demo-2] .of-profile").tap()
    page.keyboard.press("F2")
    page.wait_for_selector(".offer [role=option] >> nth=3")
    look("profile")
    page.keyboard.press("Escape")
    for name in ("Add", "Paste", "Addresses"):
        page.locator(".patch-tools button", has_text=name).first.tap()
        page.wait_for_selector("dialog")
        look(name)
        page.keyboard.press("Escape")
        page.keyboard.press("Escape")
        page.wait_for_selector("dialog", state="detached")
    assert not wrong


def test_two_thousand_stay_few_nodes_and_crew_are_told_whose_it_is(made: Any) -> None:
    page: Page = made("Bea", "#patch", role="lead", **LAPTOP)
    page.wait_for_selector("[data-id=demo-1]")
    page.evaluate(BIG_RIG)
    page.get_by_text("2000 fixtures").wait_for()
    page.locator("[data-id=x1] .of-channel").click()
    press(page, "Control+End")
    page.wait_for_selector("[data-id=x1999] .of-notes:focus")  # unit 39; 2000 is unit 0 of its truss
    press(page, "Home", "Shift+PageUp", "PageUp")
    assert page.locator(".patched").count() <= 40
    assert page.evaluate("() => document.querySelectorAll('*').length") <= 1500
    crew: Page = made("Cal", "#patch")
    crew.get_by_text("Only the lead patches.").wait_for()
    assert crew.locator("[role=grid]").count() == 0
