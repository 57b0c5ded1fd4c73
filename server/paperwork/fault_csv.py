"""The register of faults as a table."""

import csv
import io
from collections.abc import Iterable
from datetime import datetime

from server.paperwork.csv import guarded
from server.stage.found import Case, FaultStep

__all__ = ["HEADINGS", "write_faults"]

HEADINGS = (
    *("ID", "Opened", "By", "Channel", "Position", "Unit", "Type", "Symptom", "Status"),
    *("Fixed", "Fixed by", "Verified", "Verified by", "History", "Photos", "Show"),
)


def write_faults(cases: Iterable[Case]) -> str:
    """A row for each fault, as CSV (RFC 4180) with a line of headings."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    writer.writerows([guarded(cell) for cell in _cells(case)] for case in cases)
    return out.getvalue()


def _cells(case: Case) -> list[str]:
    first, fixed, verified = case.steps[0], _last(case, "fixed"), _last(case, "verified")
    channel = "" if case.channel is None else str(case.channel)
    where = (channel, case.position, case.unit, case.type)
    photos = " ".join(step.photo for step in case.steps if step.photo)
    return [
        *(str(case.number), _date(first), first.name, *where, case.words, case.status),
        *(_date(fixed), fixed.name if fixed else "", _date(verified), verified.name if verified else ""),
        *("; ".join(map(_said, case.steps)), photos, case.show),
    ]


def _last(case: Case, what: str) -> FaultStep | None:
    """The newest step of that kind, as long as it holds."""
    holds = case.status in (what, "verified")
    return next((s for s in reversed(case.steps) if s.what == what), None) if holds else None


def _date(step: FaultStep | None) -> str:
    """Without a time that nobody noted."""
    return datetime.fromtimestamp(step.at).astimezone().isoformat(" ", "minutes") if step and step.at else ""


def _said(step: FaultStep) -> str:
    return " ".join(part for part in (_date(step)[:16], step.name, step.what, step.words) if part)
