"""A reading process that hangs or dies is ended, and the file it had is said to be the reason."""

import asyncio
from contextlib import aclosing
from pathlib import Path
from typing import Any

import pytest

from server.paperwork.apart import ReadingFailed, answers
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode

__all__: list[str] = []


async def all_of(job: dict[str, Any], patience_s: float = 30.0) -> list[dict[str, Any]]:
    async with aclosing(answers(job, patience_s)) as given:
        return [answer async for answer in given]


def test_a_file_is_read_in_another_process(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(gdtf(fixture(mode(channel("Dimmer", 1)))))
    (answer,) = asyncio.run(all_of({"do": "profile", "path": str(tmp_path / "a")}))
    assert answer["profile"]["name"] == "Test light"
    assert answer["problems"] == []


def test_no_answer_in_time_is_a_refusal(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"{}")
    with pytest.raises(ReadingFailed, match="too long"):
        asyncio.run(all_of({"do": "profile", "path": str(tmp_path / "a")}, patience_s=0.0001))


def test_a_process_that_dies_is_a_refusal(tmp_path: Path) -> None:
    with pytest.raises(ReadingFailed, match="more memory or time"):
        asyncio.run(all_of({"do": "profile", "path": str(tmp_path / "not there")}))
