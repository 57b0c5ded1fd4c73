"""The register of faults as a table for a spreadsheet."""

import csv
import io

from server.paperwork.fault_csv import HEADINGS, write_faults
from server.stage.found import Case, FaultStep

__all__: list[str] = []


def _case(*steps: FaultStep) -> Case:
    return Case(7, "a", 21, "Bar", "2", "Dimmer", "Show", "House", "", "=dark", steps)


def test_one_row_a_fault_with_who_did_what_and_when() -> None:
    opened = FaultStep("opened", "mo", "Mo", 1_772_366_400.0, "dark", "photo")
    fixed = FaultStep("fixed", "kit", "Kit", 1_772_370_000.0, "new lamp")
    again = FaultStep("reopened", "mo", "Mo", 1_772_373_600.0)
    rows = list(
        csv.DictReader(io.StringIO(write_faults([_case(opened, fixed), _case(opened, fixed, again)])))
    )
    assert tuple(rows[0]) == HEADINGS
    first, second = rows
    assert (first["ID"], first["By"], first["Channel"], first["Status"]) == ("7", "Mo", "21", "fixed")
    assert (first["Symptom"], first["Fixed by"], first["Photos"]) == ("'=dark", "Kit", "photo")
    assert first["Fixed"].startswith("2026-03-01")
    assert "Kit fixed new lamp" in first["History"]
    assert (second["Status"], second["Fixed by"]) == ("open", "")  # what was fixed is so no more
