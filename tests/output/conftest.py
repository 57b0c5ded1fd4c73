"""An ear on loopback, and a data folder no output process outlives."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from server.output.link import Output, OutputBusy
from tests.output.ear import Ear

__all__: list[str] = []


@pytest.fixture
def ear() -> Iterator[Ear]:
    made = Ear()
    yield made
    made.close()


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    """A data folder whose output process, should one be left, is ended."""
    yield tmp_path
    try:
        Output.start(tmp_path).end()
    except OutputBusy:
        pytest.fail("an output was left open")
