"""Hookup sheets as people write them become rows; what is written reads back the same."""

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.columns import fields_of
from server.paperwork.csv import LINES_MOST, Row, read_rig, read_sheet, write_rig
from server.paperwork.library import Library, read_folder
from server.paperwork.problems import Problem
from server.places import profiles_folder
from server.rig.patch import Fixture
from server.rig.place import Start

__all__: list[str] = []

LIBRARY = Library(read_folder(profiles_folder()))
SHEET = """Position,Unit,Channel,Purpose,Type,Mode,Universe,Address,Notes
Bridge 1,1,21,Area 4 warm,Dimmer,1-slot,1,101,
Bridge 1,2,22,Area 5 warm,moving-spot-cmy,26,2,1,lens cleaned
"""


def rows(text: str | bytes) -> list[Row]:
    found, problems = read_rig(text.encode() if isinstance(text, str) else text, LIBRARY)
    assert problems == []
    return found


def problems(text: str) -> list[Problem]:
    return read_rig(text.encode(), LIBRARY)[1]


def dimmers(*cells: str, heading: str) -> list[Row]:
    return rows("Type,Mode," + heading + "\n" + "".join(f"dimmer,1-slot,{cell}\n" for cell in cells))


def test_a_plain_sheet_is_read() -> None:
    assert rows(SHEET) == [
        Row(21, "1", "Bridge 1", "Area 4 warm", "dimmer", "1-slot", 1, 101),
        Row(
            22,
            "2",
            "Bridge 1",
            "Area 5 warm",
            "moving-spot-cmy",
            "26-slot 16 bit",
            2,
            1,
            notes="lens cleaned",
        ),
    ]
    assert [row.where for row in rows(SHEET)] == ["line 2", "line 3"]


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_separator_encoding_and_line_ends_do_not_matter(separator: str, encoding: str, line_end: str) -> None:
    text = SHEET.replace("Area 4 warm", "Bühne 4").replace(",", separator).replace("\n", line_end)
    assert rows(text.encode(encoding))[0].purpose == "Bühne 4"
    assert len(rows(text.encode(encoding))) == 2


def test_columns_may_stand_in_any_order_under_the_trades_headings_and_below_a_title() -> None:
    text = (
        "Winter show,,,,\nprinted on Monday,,,,\n\n"
        "DMX Addr.,Instrument Type,Chan,Unit No,Hanging Position\n1/7,Relay pack,(5),2,LX 1\n,,,,\n"
    )
    (problem,) = problems(text)
    assert problem.where == "line 5"
    (row,) = rows(text.replace("pack", "(non-dim circuit)"))
    assert row == Row(5, "2", "LX 1", "", "relay", "1-slot", 1, 7)


@pytest.mark.parametrize(
    ("heading", "cell", "place"),
    [
        ("Universe,Address", "3,101", (3, 101)),
        ("Universe,Address", ",", (None, None)),
        ("Universe,Address", "0,0", (None, None)),
        ("Universe,Address", "3,1125", (3, 101)),
        ("Universe,Address", "3.0,101.0", (3, 101)),
        ("Universe,Address", "3,3/101", (3, 101)),
        ("Address", "3/101", (3, 101)),
        ("Address", "3.101", (3, 101)),
        ("Address", " 3 : 101 ", (3, 101)),
        ("Address", "512", (1, 512)),
        ("Address", "513", (2, 1)),
        ("Address", "-", (None, None)),
        ("Patch", "63999/512", (63999, 512)),
    ],
)
def test_an_address_is_read_however_it_is_written(
    heading: str, cell: str, place: tuple[int | None, int | None]
) -> None:
    # Absolute: (universe - 1) * 512 + slot, as DIN SPEC 15801 (MVR) counts.
    (row,) = dimmers(cell, heading=heading)
    assert (row.universe, row.address) == place


@pytest.mark.parametrize(
    ("heading", "cell", "why"),
    [
        ("Universe,Address", "3,", "universe 3 stands there without an address"),
        ("Universe,Address", "3,600", "address 600 is not in universe 3"),
        ("Universe,Address", "2,3/101", "contradict each other"),
        ("Address", "3/513", "slot 513 does not exist"),
        ("Address", "64000/1", "universe 64000"),
        ("Address", "one", 'address "one" is not a whole number'),
        ("Address", "-5", 'address "-5"'),
        ("Address", "1.5.2", "not a whole number"),
        ("Channel", "A", 'channel "A"'),
        ("House", "perhaps", "house is yes or no"),
    ],
)
def test_what_cannot_be_read_is_said_by_line(heading: str, cell: str, why: str) -> None:
    (problem,) = problems(f"Type,Mode,{heading}\ndimmer,1-slot,{cell}\n")
    assert problem.where == "line 2"
    assert why in problem.why


def test_everything_wrong_in_a_line_is_listed_and_the_other_lines_are_read() -> None:
    text = "Type,Mode,Channel,House\nnothing,,x,maybe\ndimmer,1-slot,2,yes\n"
    found, wrong = read_rig(text.encode(), LIBRARY)
    assert [(row.channel, row.house) for row in found] == [(2, True)]
    assert [p.where for p in wrong] == ["line 2"] * 3


@pytest.mark.parametrize("kind", ["Dimmer", "dimmer", "DIMMER ", "scroller", "Colour scroller", "ProfEng"])
def test_a_type_is_found_by_key_name_or_short_name(kind: str) -> None:
    assert read_rig(f"Type,Unit\n{kind},1\n".encode(), LIBRARY)[1][0].why.startswith("the mode is missing")


def test_a_type_that_could_be_several_is_not_guessed() -> None:
    (problem,) = problems("Type,Unit\nMoving spot,1\n")
    assert "no one profile" in problem.why
    assert "Moving spot, LED, additive colour" in problem.why


@pytest.mark.parametrize(
    ("mode", "name"),
    [
        ("2-slot 16 bit", "2-slot 16 bit"),
        ("2", "2-slot 16 bit"),
        ("16bit", "2-slot 16 bit"),
        ("1 ch", "1-slot"),
    ],
)
def test_a_mode_is_found_by_name_part_of_it_or_number_of_slots(mode: str, name: str) -> None:
    assert rows(f"Type,Mode\ndimmer,{mode}\n")[0].mode == name


def test_the_only_mode_needs_no_name_and_several_do() -> None:
    assert rows("Type,Unit\nrelay,1\n")[0].mode == "1-slot"
    (problem,) = problems("Type,Mode\ndimmer,3\n")
    assert problem.why == 'no one mode is called "3"; Dimmer has "1-slot", "2-slot 16 bit"'


@pytest.mark.parametrize(
    "kind",
    [
        "Flame bar",
        "PYRO box",
        "pyrotechnic_igniter",
        "chain hoist 1 t",
        "Laser scanner",
        "Confetti blower",
        "winch",
    ],
)
def test_what_this_tool_never_drives_is_refused_by_line(kind: str) -> None:
    (problem,) = problems(f"Type,Unit\n{kind},1\n")
    assert problem.where == "line 2"
    assert "never drives" in problem.why


def test_words_that_only_contain_such_a_word_are_not_refused() -> None:
    assert "no one profile" in problems("Type,Unit\nTrailblazers 4,1\n")[0].why


def test_a_column_that_nobody_knows_is_kept_and_given_back() -> None:
    text = "Type,Mode,Colour,Notes,Circuit,End,#\ndimmer,1,L201,dirty,C 12,5,7\ndimmer,1,,,,5,\n"
    read = rows(text)
    assert [row.more for row in read] == [{"Colour": "L201", "Circuit": "C 12", "#": "7"}, {}]
    assert [row.notes for row in read] == ["dirty", ""]
    assert read[0].headings == frozenset({"Colour", "Circuit", "#"})
    first = write_rig(read).splitlines()[0]
    assert first.endswith(",Notes,Colour,Circuit,#")
    assert rows(write_rig(read)) == read


def test_two_columns_of_one_name_are_both_kept() -> None:
    (row,) = rows("Type,Mode,Colour,Colour,Notes,Notes\nrelay,,L201,L202,a,b\n")
    assert (row.notes, row.more) == ("a", {"Colour": "L201", "Colour 2": "L202", "Notes": "b"})
    assert rows(write_rig([row])) == [row]


def test_a_whole_instrument_schedule_loses_nothing() -> None:
    # The columns of a schedule as trade lists have them: unit, type, colour, template, circuit, dimmer ...
    heading = (
        "Position,Unit,Type,Watts,Lens_or_Angle,Accessories,Colour,Template,Purpose,Circuit,Dimmer,"
        "Universe,Address,Mode,Channel,Notes"
    )
    line = "LX 1,3,Dimmer,1000,26,barn door,L201,T 4,Door,C 12,D 7,1,101,1-slot,21,lens cleaned"
    (row,) = rows(f"{heading}\n{line}\n")
    assert row.more == {
        "Watts": "1000",
        "Lens_or_Angle": "26",
        "Accessories": "barn door",
        "Colour": "L201",
        "Template": "T 4",
        "Circuit": "C 12",
        "Dimmer": "D 7",
    }
    assert (row.position, row.unit, row.purpose, row.channel) == ("LX 1", "3", "Door", 21)


def test_german_headings_and_answers_are_read() -> None:
    text = (
        "Kanal;Hängeposition;Nr.;Gerätetyp;Modus;Universum;Adresse;Zweck;Hausgerät;Arbeitslicht;Bemerkungen;Farbe\n"
        "21;Zug 4;3;Dimmer;1-slot;1;101,0;Tür;ja;nein;schief;L201\n"
    )
    for encoding in ("utf-8", "cp1252"):
        (row,) = rows(text.encode(encoding))
        wanted = Row(21, "3", "Zug 4", "Tür", "dimmer", "1-slot", 1, 101, house=True, notes="schief")
        assert row == replace(wanted, more={"Farbe": "L201"})


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_is_known_without_its_mark(encoding: str) -> None:
    assert (
        rows(SHEET.replace("warm", "Bühne – „warm“").encode(encoding))[0].purpose == "Area 4 Bühne – „warm“"
    )


def test_what_only_windows_1252_has_is_read() -> None:
    # Unicode's own table of code page 1252: 0x80 is the euro sign, 0x93 and 0x94 are quotes; 0x81 is nothing.
    sheet = SHEET.encode().replace(b"Area 4 warm", b"\x80 \x93warm\x94 \x81\xfc")
    assert rows(sheet)[0].purpose == "€ “warm” \x81ü"


def test_single_quotes_quote_where_every_heading_stands_in_them() -> None:
    text = "'Type','Unit','Purpose'\n'relay','1','Door, left'\n"
    assert rows(text)[0].purpose == "Door, left"
    assert rows("Type,Unit,Purpose\nrelay,1,'Door'\n")[0].purpose == "'Door'"


@pytest.mark.parametrize(
    ("footprint", "mode", "said"),
    [
        ("2", "", "2-slot 16 bit"),
        ("1", "1-slot", "1-slot"),
        ("", "2", "2-slot 16 bit"),
        ("2.0", "", "2-slot 16 bit"),
    ],
)
def test_a_footprint_chooses_a_mode_or_agrees_with_it(footprint: str, mode: str, said: str) -> None:
    assert rows(f"Type,Mode,Footprint\ndimmer,{mode},{footprint}\n")[0].mode == said


def test_a_footprint_that_is_not_the_modes_is_told_with_the_mode_that_has_it() -> None:
    (problem,) = problems("Type,Mode,Slots\ndimmer,1-slot,2\n")
    assert problem == Problem("line 2", 'mode "1-slot" has 1 slots, not 2 ("2-slot 16 bit" has)')
    (problem,) = problems("Type,Mode,Slots\ndimmer,1-slot,9\n")
    assert problem.why == 'mode "1-slot" has 1 slots, not 9'


def test_an_absolute_address_of_its_own_counts_when_there_is_no_other() -> None:
    assert dimmers("513", heading="Absolute")[0].address == 1
    (row,) = dimmers("1,7,7", heading="Universe,Address,Absolute")
    assert (row.address, row.more) == (7, {})


def test_what_a_column_is_may_be_said_by_hand() -> None:
    text = "Lamp,Spot,Nr,Purpose\nrelay,LX 1,4,Door\n"
    assert "no line of headings" in read_rig(text.encode(), LIBRARY)[1][0].why
    hand = {"lamp": "profile", "Spot": "position", "Purpose": ""}
    assert read_sheet(text.encode(), LIBRARY).columns == dict.fromkeys(("Lamp", "Spot", "Nr", "Purpose"), "")
    sheet = read_sheet(text.encode(), LIBRARY, hand)
    (row,) = sheet.rows
    assert (row.profile, row.position, row.unit) == ("relay", "LX 1", "4")
    assert (row.more, row.purpose, sheet.problems) == ({"Purpose": "Door"}, "", [])
    assert sheet.columns == {"Lamp": "profile", "Spot": "position", "Nr": "unit", "Purpose": ""}


def test_what_the_file_has_no_column_for_it_is_silent_about() -> None:
    (row,) = rows("Type,Mode,Unit\nrelay,,1\n")
    assert row.silent >= {"universe", "address", "notes", "house", "channel", "placed", "inverted"}
    assert not row.silent & {"unit", "profile", "mode"}
    (row,) = dimmers("1/7", heading="Address")
    assert not row.silent & {"universe", "address"}


@pytest.mark.parametrize(
    ("heading", "cell", "why"),
    [
        ("Position", "x" * 201, "position has more than 200"),
        ("Notes", "x" * 4001, "notes have more than 4000"),
        ("Colour", "x" * 1001, '"Colour" has more than 1000'),
        ("C" * 101, "x", "a heading has more than 100"),
    ],
)
def test_what_is_longer_than_a_fixture_may_hold_is_told(heading: str, cell: str, why: str) -> None:
    assert why in problems(f"Type,Unit,{heading}\nrelay,1,{cell}\n")[0].why


def test_more_columns_than_a_fixture_may_hold_are_told() -> None:
    many = [f"c{n}" for n in range(65)]
    (problem,) = problems(f"Type,Unit,{','.join(many)}\nrelay,1,{','.join(many)}\n")
    assert problem.why == "more than 64 further columns"


def test_channel_0_is_a_channel_and_an_empty_cell_is_none() -> None:
    assert [row.channel for row in dimmers("0", "", "-", heading="Channel")] == [0, None, None]


@pytest.mark.parametrize("text", ["", "nothing here", "Unit,Channel\n1,2\n", "\0\0\0", '"'])
def test_a_file_without_headings_is_said_to_be_no_sheet(text: str) -> None:
    (problem,) = problems(text)
    assert "no line of headings" in problem.why


def test_a_file_that_is_too_long_is_refused() -> None:
    assert "more than" in problems("Type,Mode\n" + "dimmer,1\n" * (LINES_MOST + 1))[0].why
    assert "larger than" in problems("x" * (8 * 2**20 + 1))[0].why


def test_what_a_spreadsheet_would_run_is_written_behind_an_apostrophe() -> None:
    row = Row(None, "=1+1", "@SUM(A1)", "+44", "relay", "1-slot", None, None, notes="-3 dB; '=x")
    row = replace(row, more={"=HYPERLINK(1)": "@x"})
    written = write_rig([row])
    cells = [cell for line in csv.reader(io.StringIO(written)) for cell in line]
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)
    assert rows(written) == [row]


def test_fixtures_of_the_rig_are_written_too() -> None:
    fixture = Fixture("f1", 7, "3", "LX 1", "Wash", "relay", "1-slot", 2, 9, guarded=True, work_light=True)
    (row,) = rows(write_rig([fixture]))
    assert (row.channel, row.universe, row.address, row.guarded, row.house) == (7, 2, 9, True, False)


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12).map(str.strip)
PLACES = st.none() | st.tuples(st.integers(1, 63999), st.integers(1, 512))
# Headings that mean something to us, or only repeat it, are no further columns.
HEADINGS = TEXTS.filter(lambda text: fields_of([text]) == {0: f":{text}"})
MORE = st.dictionaries(HEADINGS, TEXTS.filter(bool), max_size=3)
TYPES = st.sampled_from([(p.key, m.name) for p in LIBRARY.values() for m in p.modes])


@st.composite
def any_row(draw: st.DrawFn) -> Row:
    profile, mode = draw(TYPES)
    universe, address = draw(PLACES) or (None, None)
    return Row(
        channel=draw(st.none() | st.integers(1, 999999)),
        unit=draw(TEXTS),
        position=draw(TEXTS),
        purpose=draw(TEXTS),
        profile=profile,
        mode=mode,
        universe=universe,
        address=address,
        house=draw(st.booleans()),
        guarded=draw(st.booleans()),
        work_light=draw(st.booleans()),
        notes=draw(TEXTS),
        more=draw(MORE),
    )


@given(st.lists(any_row(), max_size=5))
def test_whatever_is_written_reads_back_the_same(some: list[Row]) -> None:
    assert rows(write_rig(some)) == some
    assert write_rig(rows(write_rig(some))) == write_rig(some)


@given(st.binary(max_size=300) | st.text(max_size=300).map(lambda t: ("Type,Mode,Address\n" + t).encode()))
def test_any_bytes_give_rows_and_problems(data: bytes) -> None:
    read_rig(data, LIBRARY)


def test_only_the_first_words_of_an_unknown_type_are_looked_for() -> None:
    for many, near in ((3, True), (8, False)):
        [problem] = problems(f"Type,Mode,Address\n{'zq ' * many}scroller,1-slot,1\n")
        assert ("near" in problem.why) == near


def test_further_start_addresses_have_a_column_of_their_own() -> None:
    (row,) = rows('Type,Mode,Address,Other addresses\ndimmer,1-slot,1/7,"2: 3/101; 3: 4.1"\n')
    assert row.starts == (Start(2, 3, 101), Start(3, 4, 1))
    assert rows(write_rig([row])) == [row]
    (problem,) = problems("Type,Mode,Address,Other addresses\ndimmer,1-slot,1/7,somewhere\n")
    assert "other addresses are written as" in problem.why
    assert "starts" in dimmers("1", heading="Address")[0].silent
