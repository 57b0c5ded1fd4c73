"""The record as a table: what is written reads back, and nothing in it runs."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.record_csv import HEADINGS, write_record

__all__: list[str] = []

# Without what a CSV file cannot hold and what nobody types; spaces around a text are not kept.
CELL = st.text(st.characters(blacklist_categories=["Cc", "Cs"]), max_size=20).map(str.strip)


@given(st.lists(st.lists(CELL, min_size=len(HEADINGS), max_size=len(HEADINGS)), max_size=5))
def test_what_was_written_reads_back_behind_an_apostrophe_where_it_would_run(rows: list[list[str]]) -> None:
    head, *read = csv.reader(io.StringIO(write_record(rows), newline=""))
    assert tuple(head) == HEADINGS
    assert [[cell.lstrip("'") for cell in row] for row in read] == [
        [cell.lstrip("'") for cell in row] for row in rows
    ]


# OWASP, "CSV Injection": cells that begin with these are run by spreadsheets.
@pytest.mark.parametrize("begin", ["=", "+", "-", "@", "\t=", "\r=", " ="])
def test_no_cell_begins_with_what_a_spreadsheet_runs(begin: str) -> None:
    text = write_record([[f"{begin}HYPERLINK(1)"] * len(HEADINGS)])
    _, row = csv.reader(io.StringIO(text, newline=""))
    assert {cell[0] for cell in row} == {"'"}


def test_lines_end_and_quotes_double_as_rfc_4180_says() -> None:
    """RFC 4180, 2.1 (CRLF), 2.5 and 2.7 (quotes)."""
    text = write_record([['say "yes", twice', *[""] * 7]])
    assert text.endswith('\r\n"say ""yes"", twice",,,,,,,\r\n')
