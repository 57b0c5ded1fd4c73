"""Every state of care: on the board, large enough, read by axe, red alone at night."""

import io
from collections.abc import Iterator
from contextlib import suppress
from importlib.resources import files

import pytest
from PIL import Image
from playwright.sync_api import TimeoutError as PlaywrightTimeout

from tests.servers import Server, serving
from tests.web.care import put_right, shows
from tests.web.conftest import NAME
from tests.web.moments import care_moments
from tests.web.phones import PhoneOf
from tests.web.places import in_shade
from tests.web.test_access import AXE, AXE_COLOURS, COVERED, SHADES, TOO_SMALL, TOO_WIDE


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One of its own: somebody aloft would stand in the way of other tests."""
    with serving(tmp_path_factory.mktemp("care") / "data", name=NAME) as running:
        yield running


@pytest.fixture(autouse=True)
def afterwards(server: Server) -> Iterator[None]:
    yield
    put_right(server)


def test_the_board_marks_who_is_aloft_and_what_is_armed(phone: PhoneOf, server: Server) -> None:
    wide = {"viewport": {"width": 1280, "height": 800}, "has_touch": False, "is_mobile": False}
    lee, kit = phone("Lee", role="lead", **wide), server.phone("crew", "Kit")
    lee.wait_for_selector(".hung")
    kit.ask("aloft", position="LX 1")
    shows(lee, ".crew", "aloft at LX 1")
    lines = lee.locator(".position > h2").all_inner_texts()
    assert [line.strip() for line in lines[:3]] == ["Bridge", "LX 1 Kit is aloft", "LX 2"]
    lead = server.phone("lead", "Ann")
    lead.ask("arm", fixture="demo-75", reason="Test")
    lee.locator(".lines").focus()
    lee.keyboard.type("75")
    shows(lee, ".hung[data-id=demo-75] .slip[data-armed]", "Armed")
    button = lee.locator("fc-hold[label='Call dark'] button")
    button.scroll_into_view_if_needed()
    button.hover()
    lee.mouse.down()
    shows(lee, "#dark", "Waiting for: Kit")
    lee.mouse.up()


@pytest.mark.parametrize("size", [(390, 844), (320, 568), (844, 390)], ids=str)
def test_every_state_is_large_enough_and_nothing_is_cut_off(
    phone: PhoneOf, server: Server, size: tuple[int, int]
) -> None:
    page = phone("Pip", role="lead", viewport={"width": size[0], "height": size[1]})
    wrong = {}
    for moment in care_moments(server, page, "Pip"):
        looks = (TOO_SMALL, TOO_WIDE) if moment in MODAL else (TOO_SMALL, TOO_WIDE, COVERED)
        for look in looks:
            with suppress(PlaywrightTimeout):
                page.wait_for_function(f"() => !({look})().length", timeout=2000)
        if found := [words for look in looks for words in page.evaluate(look)]:
            wrong[moment] = found
        small = [box["height"] for one in page.locator(HELD).all() if (box := one.bounding_box())]
        if small and min(small) < 72:
            wrong[f"{moment}, held"] = [str(high) for high in small]
    assert not wrong


MODAL = ("asked before it moves", "where")  # what lies under these is meant to
HELD = ":is(main, #say, #dark) :is(fc-hold, fc-run):not(.under *) button:visible"


def test_every_state_is_read_by_axe_in_every_shade_and_red_alone_at_night(
    phone: PhoneOf, server: Server
) -> None:
    page = phone("Pip", role="lead")
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text())
    wrong = {}
    for moment in care_moments(server, page, "Pip"):
        for shade in SHADES:
            in_shade(page, shade)
            found = page.evaluate(AXE if shade == SHADES[0] else AXE_COLOURS)["violations"]
            if found:
                wrong[moment, shade] = [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]
            if shade == "night":
                picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
                if bright := [c for c in (1, 2) if picture.getchannel(c).getextrema() != (0, 0)]:
                    wrong[moment, "colour"] = [str(bright)]
    assert not wrong
