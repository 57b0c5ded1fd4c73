"""The rig as an MVR file (DIN SPEC 15801:2023-12), with a fixture file for every type in it."""

import io
import zipfile
from collections.abc import Iterable, Mapping
from xml.etree.ElementTree import Element, SubElement

from server.paperwork.gdtf_out import gdtf_name, write_gdtf
from server.paperwork.identity import unit_uuid, uuid_of
from server.paperwork.matrix import matrix_text
from server.paperwork.mvr import SCENE, UNDRAWN
from server.paperwork.xml_out import put, put_xml
from server.rig.patch import Fixture
from server.rig.place import Placed, Start
from server.rig.profile import Profile
from server.rig.universe import absolute_address

__all__ = ["write_mvr"]


def write_mvr(
    fixtures: Iterable[Fixture], profiles: Mapping[str, Profile], sources: Mapping[str, bytes], program: str
) -> bytes:
    """The archive. sources: the makers' own files by profile key; a type without one gets a file made here.

    program: the version of what writes it.
    """
    rig = list(fixtures)
    specs = _specs(sorted({f.profile for f in rig} & profiles.keys()), profiles)
    root = Element(
        "GeneralSceneDescription", verMajor="1", verMinor="6", provider="focuscall", providerVersion=program
    )
    scene = SubElement(root, "Scene")
    aux = SubElement(scene, "AUXData")
    for name in sorted({f.position for f in rig if f.position}):
        SubElement(aux, "Position", uuid=uuid_of("position", name), name=name)
    layers = SubElement(scene, "Layers")
    lists: dict[str, Element] = {}
    for fixture in rig:
        name = (fixture.placed.layer if fixture.placed else "") or UNDRAWN
        if name not in lists:
            layer = SubElement(layers, "Layer", uuid=uuid_of("layer", name), name=name)
            lists[name] = SubElement(layer, "ChildList")
        _fixture(lists[name], fixture, specs.get(fixture.profile, ""))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        put_xml(archive, SCENE, root)
        for key, spec in specs.items():
            put(archive, spec, sources.get(key) or write_gdtf(profiles[key]))
    return out.getvalue()


def _specs(keys: Iterable[str], profiles: Mapping[str, Profile]) -> dict[str, str]:
    """A file name of its own for each type."""
    out: dict[str, str] = {}
    for key in keys:
        name = gdtf_name(profiles[key])
        out[key] = name if name not in out.values() else name.replace(".gdtf", f" {key}.gdtf")
    return out


def _fixture(listed: Element, fixture: Fixture, spec: str) -> None:
    """One Fixture (T25 and T26), its parts in the order of the standard's own list."""
    placed = fixture.placed or Placed(0.0, 0.0, 0.0)
    name = placed.name or fixture.purpose or fixture.id
    node = SubElement(listed, "Fixture", uuid=placed.uuid or unit_uuid(fixture.id), name=name)
    texts = {
        "Matrix": matrix_text(placed),
        "GDTFSpec": spec,
        "GDTFMode": fixture.mode,
        "Function": fixture.purpose,
        "Position": uuid_of("position", fixture.position) if fixture.position else "",
        "DMXInvertPan": _turned(fixture, "Pan"),
        "DMXInvertTilt": _turned(fixture, "Tilt"),
        "FixtureID": "" if fixture.channel is None else str(fixture.channel),
        "FixtureIDNumeric": str(fixture.channel or 0),
        "UnitNumber": fixture.unit if fixture.unit.isdigit() else "0",
        "CustomId": "0",
        "CustomIdType": "1",
    }
    for tag, text in texts.items():
        if text or tag in ("GDTFSpec", "FixtureID"):
            SubElement(node, tag).text = text
    addresses = SubElement(node, "Addresses")
    starts = list(fixture.starts)
    if fixture.universe is not None and fixture.address is not None:
        starts.insert(0, Start(1, fixture.universe, fixture.address))
    for start in starts:
        # Breaks count from 0 here and from 1 in GDTF, as every file seen has it; the text does not say.
        address = SubElement(addresses, "Address", attrib={"break": str(start.number - 1)})
        address.text = str(absolute_address(start.universe, start.address))


def _turned(fixture: Fixture, attribute: str) -> str:
    return "true" if any(key.partition("/")[0] == attribute for key in fixture.inverted) else "false"
