"""MVR files made from a few words, for tests: a scene of layers, and fixture files beside it."""

import io
import zipfile

from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode, tag

__all__ = ["SPOT", "SPOT_NAME", "layer", "mvr", "text", "unit"]

SPOT = gdtf(
    fixture(
        mode(channel("Dimmer", 1), channel("Pan", "2,3"), channel("Zoom", 1, DMXBreak=2), name="basic"),
        Name="Heron Spot",
        LongName="Heron Spot",
        FixtureTypeID="6F1D2C40-0000-4000-8000-00000000BEEF",
    )
)
SPOT_NAME = "Nobody@Heron Spot.gdtf"


def text(name: str, content: object) -> str:
    return tag(name, str(content))


def unit(name: str, *addresses: str, inside: str = "", uuid: str = "", **texts: object) -> str:
    """A Fixture. addresses: from break 0 on; texts: its elements by name, a spot unless told."""
    given = {"GDTFSpec": SPOT_NAME, "GDTFMode": "basic", "UnitNumber": 1} | texts
    places = "".join(tag("Address", a, **{"break": n}) for n, a in enumerate(addresses))
    body = "".join(text(key, value) for key, value in given.items()) + tag("Addresses", places) + inside
    return tag("Fixture", body, name=name, uuid=uuid or f"uuid of {name}")


def layer(name: str, *children: str, matrix: str = "") -> str:
    here = text("Matrix", matrix) if matrix else ""
    return tag("Layer", here + tag("ChildList", *children), name=name, uuid=f"layer {name}")


def mvr(*layers: str, aux: str = "", files: dict[str, bytes] | None = None) -> bytes:
    """The archive around a scene. files: instead of the spot."""
    scene = tag("Scene", tag("AUXData", aux) + tag("Layers", *layers))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            "GeneralSceneDescription.xml", tag("GeneralSceneDescription", scene, verMajor=1, verMinor=6)
        )
        for name, data in ({SPOT_NAME: SPOT} if files is None else files).items():
            archive.writestr(name, data)
    return out.getvalue()
