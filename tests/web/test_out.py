"""A unit out of use: taken out and back on real phones, and dark on the wire meanwhile."""

from collections.abc import Iterator

import pytest

from tests.servers import Server, serving
from tests.web.care import shows
from tests.web.conftest import NAME
from tests.web.phones import PhoneOf, to_screen, to_sheet

CHIP = "section[aria-label='Out of use'] .chips > button"
BACK = "section[aria-label='Out of use'] .works"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("out") / "data", name=NAME) as running:
        yield running


def test_who_repairs_it_takes_it_out_and_nobody_drives_it(phone: PhoneOf, server: Server) -> None:
    kit, mo = phone("Kit"), phone("Mo")
    to_sheet(kit, 25, "More")
    kit.locator(f"{CHIP} >> nth=0").tap()
    shows(kit, ".tag .marks", "Out of use: Lamp change")
    to_sheet(mo, 25)
    shows(mo, ".tag .marks", "Out of use: Lamp change")
    mo.tap("text=Light up")
    shows(mo, "#say", "is out of use (Lamp change; Kit)")
    to_screen(mo, "fixtures")
    mo.fill("input[type=search]", "25")
    shows(mo, ".row", "Out of use")
    to_sheet(mo, 25, "More")
    assert mo.locator(BACK).is_disabled()
    kit.tap(BACK)
    kit.wait_for_function("() => !document.querySelector('.tag .marks')?.textContent")
    to_sheet(mo, 25)
    mo.tap("text=Light up")
    mo.wait_for_selector(".tag[data-drive=hand]")


def test_what_gives_light_is_not_taken_out(phone: PhoneOf) -> None:
    kit = phone("Kit")
    to_sheet(kit, 1, "More")  # lit by the baseline
    kit.fill("section[aria-label='Out of use'] input", "loose clamp")
    kit.tap("section[aria-label='Out of use'] button[type=submit]")
    shows(kit, "#say", "Take it to 0 first")
