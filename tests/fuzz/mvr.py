"""Scenes (DIN SPEC 15801): units and problems in words, whatever stands in them."""

import tempfile
from pathlib import Path

from server.paperwork.mvr import SCENE, read_mvr
from tests.paperwork.gdtf_files import tag
from tests.paperwork.mvr_files import layer, unit
from tests.paperwork.test_archive import archive

__all__ = ["SEEDS", "WORDS", "one"]

_HUNG = tag("Truss", tag("ChildList", unit("b", "0", "7.100")), name="Truss A")
_SCENES = (
    layer("L", unit("a", "1", FixtureID="21", Matrix="{1,0,0}{0,1,0}{0,0,1}{0,0,5000}")),
    layer("L", _HUNG, matrix="{0,1,0}{-1,0,0}{0,0,1}{0,0,0}"),
)
SEEDS = tuple(
    tag("GeneralSceneDescription", tag("Scene", tag("Layers", scene))).encode() for scene in _SCENES
)
WORDS = (
    *(b"Fixture", b"Truss", b"GroupObject", b"ChildList", b"Layer", b"Matrix", b"Addresses", b"Address"),
    *(
        b"GDTFSpec",
        b"FixtureID",
        b"UnitNumber",
        b"CustomIdType",
        b"DMXInvertPan",
        b"{1,0,0}",
        b"nan",
        b"1.512",
    ),
)


def one(data: bytes) -> None:
    """A scene in an archive of its own, because no search finds its way through a checksum."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.mvr"
        path.write_bytes(archive((SCENE, data)))
        drawing = read_mvr(path)
    assert drawing.units or drawing.problems
    assert all(problem.why for problem in (*drawing.problems, *drawing.left_out))
