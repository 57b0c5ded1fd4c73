"""Killed two hundred times at any moment, nothing acknowledged is missing, and nothing is there by halves."""

import os
from pathlib import Path

import pytest

from tests.journal.kills import kill_again_and_again

__all__: list[str] = []


@pytest.mark.skipif(os.name == "nt", reason="copies itself as only POSIX can")
def test_killed_two_hundred_times_nothing_acknowledged_is_missing(tmp_path: Path) -> None:
    tally = kill_again_and_again(tmp_path / "show.sqlite", 220, seed=7)
    assert tally.kills == 220
    assert tally.busy > 80
    assert tally.acknowledged > 1000
