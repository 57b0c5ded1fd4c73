"""The record of the day as a table for a spreadsheet."""

import csv
import io
from collections.abc import Iterable

from server.paperwork.csv import guarded

__all__ = ["HEADINGS", "write_record"]

HEADINGS = ("Time", "Name", "Role", "Phone", "Channel", "Position", "Unit", "What")


def write_record(rows: Iterable[Iterable[str]]) -> str:
    """Rows of text, one cell for each heading, as CSV (RFC 4180) with a line of headings.

    Text that a spreadsheet would run as a formula is written behind an apostrophe.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue()
