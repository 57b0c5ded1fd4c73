"""Papers in a process of their own, which is gone when its asker is or when it takes too long."""

import asyncio
import os
from pathlib import Path

import pytest

from server.api import press
from server.api.press import Press
from server.api.problems import Problem
from tests.papers import job, many

__all__: list[str] = []


def test_a_long_paper_is_given_up_and_its_process_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(press, "LONGEST_S", 0.05)
    before = _children()
    with pytest.raises(Problem, match="took too long"):
        asyncio.run(Press().draw(job("schedule", *many(2000))))
    assert _children() == before


def test_when_the_asker_goes_the_drawing_goes_too() -> None:
    before = _children()

    async def given_up() -> None:
        drawing = asyncio.create_task(Press().draw(job("schedule", *many(2000))))
        async with asyncio.timeout(15):
            while _children() == before:  # noqa: ASYNC110 (nobody tells when another process begins)
                await asyncio.sleep(0.01)
        drawing.cancel()
        with pytest.raises(asyncio.CancelledError):
            await drawing

    asyncio.run(given_up())
    assert _children() == before


def test_a_drawing_that_breaks_is_told_in_words_and_logged(caplog: pytest.LogCaptureFixture) -> None:
    with pytest.raises(Problem, match="could not be made"):
        asyncio.run(Press().draw(job("no such paper")))
    assert "a paper was not drawn" in caplog.text
    assert "KeyError" in caplog.text


def _children() -> list[str]:
    """The numbers of this process's own children, as Linux tells them."""
    told = Path(f"/proc/self/task/{os.getpid()}/children")
    if not told.exists():
        pytest.skip("only Linux tells a process's children here")
    return told.read_text().split()
