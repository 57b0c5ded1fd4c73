"""A round of the rig check as a table."""

import csv
import io
from collections.abc import Iterable

from server.paperwork.csv import guarded
from server.stage.found import Verdict
from server.stage.reasons import REASONS

__all__ = ["HEADINGS", "write_round"]

HEADINGS = ("Date", "By", "Channel", "Position", "Unit", "Result", "Fault", "Notes", "Level", "Photo")


def write_round(rows: Iterable[tuple[str, Verdict]]) -> str:
    """Each with its date in words, as CSV (RFC 4180) with a line of headings. Level: percent of full."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    writer.writerows([guarded(cell) for cell in _cells(date, verdict)] for date, verdict in rows)
    return out.getvalue()


def _cells(date: str, verdict: Verdict) -> list[str]:
    channel = "" if verdict.channel is None else str(verdict.channel)
    where = (channel, verdict.position, verdict.unit)
    result = "works" if verdict.works else "fault"
    wrong = (str(REASONS.get(verdict.reason, "")), verdict.note)
    return [date, verdict.name, *where, result, *wrong, str(round(100 * verdict.level)), verdict.photo]
