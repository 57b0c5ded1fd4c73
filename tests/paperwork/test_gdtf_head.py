"""What a fixture file says of the type as a whole is kept: body, RDM ids, filters, where it is from."""

import hashlib

from server.paperwork.gdtf import read_gdtf
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.rig.profile import RdmModel, Source
from tests.paperwork.gdtf_files import channel, fixture, function, gdtf, mode, tag

__all__: list[str] = []


def test_the_body_the_rdm_ids_and_where_it_is_from_are_kept() -> None:
    body = tag(
        "PhysicalDescriptions", tag("Properties", tag("Weight", Value="12.5"), tag("LegHeight", Value="x"))
    )
    model = tag(
        "SoftwareVersionID",
        tag("DMXPersonality", Value="0x01", DMXMode="one"),
        tag("DMXPersonality", Value="0A", DMXMode="other"),
        Value="1F",
    )
    nobody = tag("FTRDM", ManufacturerID="0", DeviceModelID="1")
    rdm = tag("FTRDM", model, ManufacturerID="7FF0", DeviceModelID="0x10")
    wrong = tag("FTRDM", ManufacturerID="7FF0", DeviceModelID="wheel")
    dates = tag("Revisions", *(tag("Revision", Date=d) for d in ("2022-03-01", "2023-05-02", "2021-01-01")))
    lamp = tag("Geometry", tag("Beam", Name="B", BeamAngle="25", LuminousFlux="9000"), Name="Main")
    data = gdtf(
        fixture(
            mode(channel("Dimmer", 1)),
            geometries=lamp,
            extra=body + tag("Protocols", nobody, rdm, wrong) + dates,
            Description="Manual: https://example.org/manuals/test-light.pdf (German)",
        )
    )
    profile, found = read_gdtf(data)
    assert profile is not None
    assert profile.facts == {"weight_kg": 12.5, "flux_lm": 9000, "beam_deg": 25}
    # DIN SPEC 15800:2022-02, T70 to T72: all of them hexadecimal text.
    assert profile.rdm == (RdmModel(0x7FF0, 0x10, 0x1F, {1: "one", 10: "other"}),)
    assert profile.manual_url == "https://example.org/manuals/test-light.pdf"
    own = "6F1D2C40-0000-4000-8000-0000000000AA"
    assert profile.source == Source(hashlib.sha256(data).hexdigest(), "1.2", "2023-05-02", own)
    assert [p.where for p in found] == ["physical description", "RDM"]
    assert profile_from_json(profile_to_json(profile)) == profile


def test_filters_give_wheel_places_their_colour_and_are_linked() -> None:
    slots = tag("Slot", Name="Red", Color="0.31,0.33,100", Filter="Deep") + tag(
        "Slot", Name="Plain", Filter="No"
    )
    extra = tag("Wheels", tag("Wheel", slots, Name="W")) + tag(
        "PhysicalDescriptions", tag("Filters", tag("Filter", Name="Deep", Color="0.68,0.31,8"))
    )
    cyan = channel("ColorSub_C", 1, function("ColorSub_C", Filter="Deep"))
    made, found = read_gdtf(gdtf(fixture(mode(cyan), extra=extra)))
    assert (made is not None, found) == (True, [])
    assert made is not None
    assert [slot.xyY for slot in made.wheels["W"]] == [(0.68, 0.31, 8.0), None]
    assert made.filters["Deep"].xyY == (0.68, 0.31, 8.0)
    assert made.modes[0].controls[0].functions[0].filter == "Deep"
    assert profile_from_json(profile_to_json(made)) == made
