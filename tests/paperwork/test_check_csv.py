"""A round of the rig check as a table for a spreadsheet."""

import csv
import io

from server.paperwork.check_csv import HEADINGS, write_round
from server.stage.found import Verdict

__all__: list[str] = []


def test_one_row_a_verdict_and_no_text_that_a_spreadsheet_would_run() -> None:
    seen = Verdict(False, "mo", "Mo", 1.0, 0.35, None, "Bar", "2", "weak", "=1+1", "photo")
    works = Verdict(True, "mo", "Mo", 1.0, 0.5, 21, "Bar", "3")
    rows = list(csv.reader(io.StringIO(write_round([("noon", seen), ("one", works)]))))
    assert rows[0] == list(HEADINGS)
    assert rows[1] == ["noon", "Mo", "", "Bar", "2", "fault", "Weak light", "'=1+1", "35", "photo"]
    assert rows[2] == ["one", "Mo", "21", "Bar", "3", "works", "", "", "50", ""]
