"""What a focus chart can be filled with: in words, in degrees, in percent."""

from server.paperwork.library import read_folder
from server.paperwork.printed.beam import BEAM, beam_of
from server.places import profiles_folder
from server.rig.profile import Mode
from tests.rigs import control, mode

__all__: list[str] = []

SHIPPED = {profile.key: profile for profile in read_folder(profiles_folder())}


def _said(mode: Mode, **values: int) -> dict[str, str]:
    raws = {c.key: c.home for c in mode.controls} | values
    return {name: text for name, text in zip(BEAM, beam_of(mode, raws), strict=True) if text}


def test_a_moving_light_tells_aim_zoom_edge_template_and_blades() -> None:
    framing = SHIPPED["moving-framing"].modes[0]
    # Of the profile: Pan -270 to 270 degrees over 65535; Gobo1 24-35 is "Template 2"; Color1 60-71 "Blue".
    said = _said(framing, Pan=65535, Tilt=0, Gobo1=30, Color1=65, Blade1A=255, ColorSub_C=128)
    assert said["aim"] == "270.0°, -135.0°"
    assert said["template"].startswith("Template 2")
    assert said["colour"] == "Blue, C50"
    assert said["bottom"] == "100 %"
    assert said["top"] == "0 %"


def test_mixed_colours_are_told_by_their_letters() -> None:
    washes = mode("rgb", *(control(f"ColorAdd_{c}", at) for at, c in enumerate(("R", "G", "W"), 1)))
    assert _said(washes, ColorAdd_R=255, ColorAdd_W=51) == {"colour": "R100 W20"}


def test_of_cells_the_first_speaks() -> None:
    cells = mode("cells", control("ColorAdd_R", 1, cell="A"), control("ColorAdd_R", 2, cell="B"))
    assert _said(cells, **{"ColorAdd_R/A": 255, "ColorAdd_R/B": 0}) == {"colour": "R100"}


def test_a_dimmer_has_nothing_to_tell() -> None:
    assert _said(SHIPPED["dimmer"].modes[0]) == {}


def test_every_shipped_mode_can_be_told() -> None:
    for profile in SHIPPED.values():
        for each in profile.modes:
            for raw in ("home", "maximum"):
                values = {c.key: getattr(c, raw) for c in each.controls}
                assert len(beam_of(each, values)) == len(BEAM)
