"""A drawing's fixtures are read with their ids, addresses and places; what cannot be is said by unit."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from server.paperwork.mvr import Drawing, Unit, embedded, read_mvr
from server.paperwork.problems import Problem
from tests.paperwork.gdtf_files import tag
from tests.paperwork.mvr_files import SPOT, SPOT_NAME, layer, mvr, text, unit

__all__: list[str] = []


def read(path: Path, data: bytes) -> Drawing:
    file = path / "a.mvr"
    file.write_bytes(data)
    return read_mvr(file)


def only(path: Path, one: str, aux: str = "") -> Unit:
    drawing = read(path, mvr(layer("L", one), aux=aux))
    assert (drawing.problems, drawing.left_out) == ([], [])
    (found,) = drawing.units
    return found


def test_a_fixture_is_read_with_its_names_ids_and_place(tmp_path: Path) -> None:
    aux = tag("Position", name="Bridge 1", uuid="p-1")
    one = unit(
        "Spot 1", "1025", UnitNumber=4, FixtureID="21", Position="p-1", Function="Door", DMXInvertPan="true",
        Matrix="{1,0,0}{0,1,0}{0,0,1}{1500,-200,6000}", uuid="u-1",
    )  # fmt: skip
    found = only(tmp_path, one, aux)
    assert (found.channel, found.number, found.position, found.purpose) == (21, "4", "Bridge 1", "Door")
    # DIN SPEC 15801: universe = (1025 - 1) div 512 + 1, slot = (1025 - 1) mod 512 + 1.
    assert (found.addresses, found.inverted) == (((1, 3, 1),), ("Pan",))
    at = found.placed
    assert (at.x_m, at.y_m, at.z_m, at.uuid, at.name, at.layer) == (1.5, -0.2, 6, "u-1", "Spot 1", "L")


@pytest.mark.parametrize(
    ("addresses", "read_as"),
    [
        (("512",), ((1, 1, 512),)),
        (("513",), ((1, 2, 1),)),
        (("7.100", "7.200"), ((1, 7, 100), (2, 7, 200))),
        (("0",), ()),
        (("",), ()),
        (("1", "0", "0", "0"), ((1, 1, 1),)),
    ],
)
def test_addresses_are_absolute_or_by_universe_and_0_is_not_patched(
    tmp_path: Path, addresses: tuple[str, ...], read_as: object
) -> None:
    assert only(tmp_path, unit("a", *addresses)).addresses == read_as


def test_breaks_that_begin_at_1_count_as_gdtf_does(tmp_path: Path) -> None:
    one = unit("a").replace(
        "<Addresses></Addresses>", '<Addresses><Address break="1">9</Address></Addresses>'
    )
    assert only(tmp_path, one).addresses == ((1, 1, 9),)


@pytest.mark.parametrize(
    ("address", "why"),
    [
        ("1.600", "does not exist"),
        ("-1", "neither a number"),
        ("x", "neither"),
        ("64000.1", "does not exist"),
    ],
)
def test_an_address_that_cannot_be_is_named_by_unit(tmp_path: Path, address: str, why: str) -> None:
    drawing = read(tmp_path, mvr(layer("L", unit("Spot 9", address, FixtureID="21"))))
    assert drawing.units == []
    assert [(p.where, why in p.why) for p in drawing.problems] == [("Fixture Spot 9 (21)", True)]


def test_things_inside_things_are_found_and_placed_in_the_world(tmp_path: Path) -> None:
    hung = unit("deep", "1", Matrix="{1,0,0}{0,1,0}{0,0,1}{100,0,0}")
    truss = tag(
        "Truss", text("Matrix", "{0,1,0}{-1,0,0}{0,0,1}{0,0,5000}") + tag("ChildList", hung), name="Truss A"
    )
    group = tag("GroupObject", tag("ChildList", truss), name="Group")
    (found,) = read(tmp_path, mvr(layer("L", group, matrix="{1,0,0}{0,1,0}{0,0,1}{0,0,1000}"))).units
    assert (found.placed.x_m, found.placed.y_m, found.placed.z_m) == (0, 0.1, 6)
    assert found.position == "Truss A"


def test_a_unit_that_hangs_on_another_is_found_too(tmp_path: Path) -> None:
    pair = unit("lower", "1", inside=tag("ChildList", unit("upper", "100")))
    assert [u.placed.name for u in read(tmp_path, mvr(layer("L", pair))).units] == ["lower", "upper"]


@pytest.mark.parametrize(("kind", "guarded"), [("1", False), ("7", True), ("8", True)])
def test_fog_and_effects_are_guarded(tmp_path: Path, kind: str, guarded: bool) -> None:
    assert only(tmp_path, unit("a", CustomIdType=kind)).guarded == guarded


def test_what_this_tool_never_drives_is_refused_by_unit(tmp_path: Path) -> None:
    units = (unit("a", CustomIdType="9"), unit("b", GDTFSpec="Nobody@Flame jet.gdtf"), unit("c", "1"))
    drawing = read(tmp_path, mvr(layer("L", *units)))
    assert [p.where for p in drawing.problems] == ["Fixture a", "Fixture b"]
    assert all("never drives" in p.why for p in drawing.problems)
    assert [u.placed.name for u in drawing.units] == ["c"]


def test_units_of_one_name_are_told_apart_in_reports(tmp_path: Path) -> None:
    drawing = read(tmp_path, mvr(layer("L", unit("a", "1"), unit("a", "2"), unit("a", "x"))))
    assert [u.where for u in drawing.units] == ["Fixture a", "Fixture a, no. 2 of that name"]
    assert [p.where for p in drawing.problems] == ["Fixture a, no. 3 of that name"]


def test_a_hoist_with_an_address_is_no_fixture_and_a_wrong_matrix_is_said(tmp_path: Path) -> None:
    hoist = tag("Support", tag("Addresses", tag("Address", "1")), name="Hoist 1")
    drawing = read(tmp_path, mvr(layer("L", hoist, unit("a", "9", Matrix="wrong"))))
    assert [(p.where, p.why.split(";")[0]) for p in drawing.left_out] == [
        ("Support Hoist 1", "is no fixture and is not driven"),
        ("Fixture a", "its Matrix is not four rows of three numbers"),
    ]
    assert len(drawing.units) == 1


def test_the_fixture_files_inside_are_found_with_and_without_their_ending(tmp_path: Path) -> None:
    (tmp_path / "a.mvr").write_bytes(mvr(layer("L")))
    found = embedded(tmp_path / "a.mvr", {SPOT_NAME, SPOT_NAME.removesuffix(".gdtf"), "Nobody@Nothing.gdtf"})
    assert found == {SPOT_NAME: SPOT, SPOT_NAME.removesuffix(".gdtf"): SPOT}


def test_nesting_without_end_and_too_many_units_are_refused(tmp_path: Path) -> None:
    deep = unit("a")
    for n in range(60):
        deep = tag("GroupObject", tag("ChildList", deep), name=str(n))
    assert ["too deep" in p.why for p in read(tmp_path, mvr(layer("L", deep))).problems] == [True]
    many = read(tmp_path, mvr(layer("L", *(tag("Fixture", name=str(n)) for n in range(4200)))))
    assert [p.why for p in many.problems] == ["holds more than 4096 fixtures"]


@pytest.mark.parametrize("data", [b"", b"PK", b"no archive", mvr(), mvr(layer("L")), SPOT])
def test_a_file_without_fixtures_is_said_to_have_none(tmp_path: Path, data: bytes) -> None:
    drawing = read(tmp_path, data)
    assert drawing.units == []
    assert len(drawing.problems) == 1
    assert isinstance(drawing.problems[0], Problem)


WORDS = st.sampled_from(
    ["", "0", "1", "-1", "1.1", "9.9.9", "nan", "{1,0,0}", "true", "7", "x" * 300, "99999999999"]
)
NAMES = (
    *("Matrix", "GDTFSpec", "GDTFMode", "FixtureID", "FixtureIDNumeric", "UnitNumber", "CustomIdType"),
    *("Position", "DMXInvertPan"),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.dictionaries(st.sampled_from(NAMES), WORDS), st.lists(WORDS, max_size=3))
def test_any_words_give_a_unit_or_a_problem(
    tmp_path: Path, texts: dict[str, str], addresses: list[str]
) -> None:
    drawing = read(tmp_path, mvr(layer("L", unit("a", *addresses, **texts))))
    assert len(drawing.units) + len(drawing.problems) == 1
