"""Which profile a unit of a drawing means, and what of a known unit its row leaves as it is."""

from dataclasses import replace

from server.paperwork.drawn import Types, rows_of
from server.paperwork.gdtf import read_gdtf
from server.paperwork.gdtf_out import write_gdtf
from server.paperwork.library import Library, read_folder
from server.paperwork.mvr import Unit
from server.places import profiles_folder
from server.rig.place import Placed, Start
from server.rig.profile import Profile, Source
from tests.paperwork.mvr_files import SPOT, SPOT_NAME

__all__: list[str] = []

LIBRARY = Library(read_folder(profiles_folder()))
UNIT = Unit("Fixture a", SPOT_NAME, "basic", Placed(0, 0, 1, uuid="u"), ((1, 3, 5), (2, 4, 9)), 7)


def spot() -> Profile:
    profile, problems = read_gdtf(SPOT)
    assert problems == []
    assert profile is not None
    return profile


def types(known: dict[str, Profile] | None = None, embedded: dict[str, Profile] | None = None) -> Types:
    return Types(LIBRARY, known or {}, {SPOT_NAME: spot()} if embedded is None else embedded, {}, {})


def test_an_embedded_type_is_added_and_every_start_address_taken() -> None:
    given = types()
    sheet, left_out = rows_of([UNIT], given)
    (row,), problems = sheet.rows, sheet.problems
    assert (problems, left_out) == ([], [])
    assert (row.profile, row.mode, row.universe, row.address) == ("nobody-heron-spot", "basic", 3, 5)
    assert row.starts == (Start(2, 4, 9),)
    assert given.new == {"nobody-heron-spot": spot()}
    assert row.silent >= {"unit", "position", "purpose", "inverted", "guarded", "house", "notes", "more"}
    assert "channel" not in row.silent


def test_the_shows_own_copy_of_a_type_goes_before_the_one_in_the_file() -> None:
    mine = replace(spot(), key="mine", name="Our heron")
    given = types({"mine": mine})
    (row,) = rows_of([UNIT], given)[0].rows
    assert (row.profile, given.new) == ("mine", {})


def test_another_type_of_a_key_in_use_gets_a_key_of_its_own() -> None:
    other = replace(spot(), source=Source("f" * 64, type_id="another"))
    given = types({"nobody-heron-spot": other})
    (row,) = rows_of([UNIT], given)[0].rows
    source = spot().source
    assert source is not None
    assert row.profile == f"nobody-heron-spot-{source.sha256[:8]}"


def test_a_file_made_from_a_profile_of_ours_means_that_profile() -> None:
    made, _ = read_gdtf(write_gdtf(LIBRARY["batten-8"]))
    assert made is not None
    mode = made.modes[0].name
    (row,) = rows_of([replace(UNIT, mode=mode, addresses=())], types(embedded={SPOT_NAME: made}))[0].rows
    assert row.profile == "batten-8"


def test_a_type_that_is_not_in_the_file_is_looked_for_in_the_library() -> None:
    name = LIBRARY["dimmer"].name
    (row,) = rows_of([replace(UNIT, spec=f"Generic@{name}.gdtf", mode="1-slot")], types())[0].rows
    assert row.profile == "dimmer"
    sheet, _ = rows_of([replace(UNIT, spec="Nobody@Nothing.gdtf"), replace(UNIT, spec="")], types())
    rows, problems = sheet.rows, sheet.problems
    assert rows == []
    assert ["neither in the file nor" in problems[0].why, "no type" in problems[1].why] == [True, True]


def test_a_mode_and_a_start_address_that_are_not_there_are_said() -> None:
    sheet, _ = rows_of([replace(UNIT, mode="other")], types())
    rows, problems = sheet.rows, sheet.problems
    assert (rows, problems[0].why) == ([], 'Heron Spot has no mode "other"; it has "basic"')
    _, left_out = rows_of([replace(UNIT, addresses=((1, 3, 5), (3, 1, 1)))], types())
    assert left_out[0].why == '"basic" has no start address 3'
