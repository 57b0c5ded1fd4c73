"""Rig files as pymvr writes and reads them, and fixture files of ours as pygdtf reads them."""

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest

from server.paperwork.gdtf_out import write_gdtf
from server.paperwork.library import read_folder
from server.paperwork.matrix import matrix_in
from server.paperwork.mvr import read_mvr
from server.paperwork.mvr_out import write_mvr
from server.places import profiles_folder
from server.rig.patch import Fixture
from server.rig.place import Placed
from server.rig.profile import Profile

__all__: list[str] = []

pymvr: Any = pytest.importorskip("pymvr")
pygdtf: Any = pytest.importorskip("pygdtf")

SHIPPED = {profile.key: profile for profile in read_folder(profiles_folder())}
NAMED = "0f0e0d0c-0000-4000-8000-000000000001"
TURNED = (0.0, 1.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 1.0)
RIG = [
    Fixture(
        "a", 21, "3", "Bridge 1", "Door", "moving-spot-cmy", "26-slot 16 bit", 2, 101,
        inverted=("Pan",), placed=Placed(1.25, -3, 6.5, TURNED, NAMED, "S", "Rig"),
    ),
    Fixture("b", 5, "1", "Boom", "Bench", "dimmer", "1-slot", 1, 512),
    Fixture("c", None, "", "", "", "dimmer", "1-slot", None, None),
]  # fmt: skip


def test_the_rig_we_write_is_read_by_pymvr() -> None:
    scene = pymvr.GeneralSceneDescription(io.BytesIO(write_mvr(RIG, SHIPPED, {}, "0"))).scene
    read = {f.name: f for layer in scene.layers for f in layer.child_list.fixtures}
    assert sorted(layer.name for layer in scene.layers) == ["Not drawn", "Rig"]
    spot, bench = read["S"], read["Bench"]
    assert (spot.uuid, spot.fixture_id, spot.unit_number) == (NAMED, "21", 3)
    assert (spot.gdtf_mode, spot.dmx_invert_pan, spot.dmx_invert_tilt) == ("26-slot 16 bit", True, False)
    places = {
        f.name: [(a.dmx_break, a.universe, a.address) for a in f.addresses.addresses] for f in read.values()
    }
    assert places == {"S": [(0, 2, 101)], "Bench": [(0, 1, 512)], "c": []}
    assert [row[:3] for row in spot.matrix.matrix] == [[0, 1, 0], [-1, 0, 0], [0, 0, 1], [1250, -3000, 6500]]
    named = {position.uuid: position.name for position in scene.aux_data.positions}
    assert (named[spot.position], named[bench.position]) == ("Bridge 1", "Boom")


def test_the_fixture_files_in_it_are_read_by_pygdtf() -> None:
    data = write_mvr(RIG, SHIPPED, {}, "0")
    scene = pymvr.GeneralSceneDescription(io.BytesIO(data)).scene
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for fixture in (f for layer in scene.layers for f in layer.child_list.fixtures):
            kind = pygdtf.FixtureType(io.BytesIO(archive.read(fixture.gdtf_spec)))
            assert fixture.gdtf_mode in [mode.name for mode in kind.dmx_modes]


@pytest.mark.parametrize("profile", SHIPPED.values(), ids=lambda p: p.key)
def test_a_fixture_file_of_ours_has_the_slots_that_pygdtf_finds(profile: Profile) -> None:
    kind = pygdtf.FixtureType(io.BytesIO(write_gdtf(profile)))
    assert (kind.name, kind.manufacturer) == (profile.name, profile.maker)
    for mine, theirs in zip(profile.modes, kind.dmx_modes, strict=True):
        assert (mine.name, mine.footprint) == (theirs.name, theirs.dmx_channels_count)
        read = {tuple(c.offset): str(c.logical_channels[0].attribute) for c in theirs.dmx_channels}
        assert read == {c.offsets: c.attribute for c in mine.controls if c.offsets}


def test_a_rig_that_pymvr_writes_is_read(tmp_path: Path) -> None:
    matrix = "{0,1,0}{-1,0,0}{0,0,1}{1250,-3000,6500}"
    fixture = pymvr.Fixture(name="S", uuid=NAMED)
    fixture.fixture_id, fixture.unit_number = "21", 3
    fixture.gdtf_spec, fixture.gdtf_mode = "Nobody@Spot.gdtf", "basic"
    fixture.matrix = pymvr.Matrix(matrix)
    fixture.addresses = pymvr.Addresses(addresses=[pymvr.Address(dmx_break=0, universe=2, address=101)])
    scene = pymvr.Scene(layers=pymvr.Layers(), aux_data=pymvr.AUXData())
    children = pymvr.ChildList()
    children.fixtures.append(fixture)
    scene.layers.append(pymvr.Layer(name="Rig", child_list=children))
    writer = pymvr.GeneralSceneDescriptionWriter()
    writer.serialize_scene(scene)
    writer.write_mvr(str(tmp_path / "a.mvr"))
    drawing = read_mvr(tmp_path / "a.mvr")
    (unit,) = drawing.units
    assert drawing.problems == []
    assert (unit.channel, unit.number, unit.spec, unit.mode) == (21, "3", "Nobody@Spot.gdtf", "basic")
    assert unit.addresses == ((1, 2, 101),)
    assert (unit.placed.x_m, unit.placed.y_m, unit.placed.z_m) == (1.25, -3, 6.5)
    u, v, w, _ = matrix_in(matrix)
    assert unit.placed.rotation == (*u, *v, *w)
    assert (unit.placed.uuid, unit.placed.layer) == (NAMED, "Rig")
