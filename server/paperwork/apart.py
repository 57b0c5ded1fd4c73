"""Asks the reading process: starts it, waits for its answers holding nobody up, ends it when it hangs."""

import asyncio
import contextlib
import json
import os
import sys
from collections.abc import AsyncGenerator
from pathlib import Path
from typing import Any

__all__ = ["PATIENCE_S", "ReadingFailed", "answers"]

PATIENCE_S = 30.0  # for one file; a hundred times what the largest seen takes
ENDING_S = 5.0  # for a process that has said its last to be gone
LINE_MOST = 64 * 2**20  # octets of an answer: a profile with all that one may hold
_PROJECT = Path(__file__).resolve().parents[2]


class ReadingFailed(Exception):
    """The reading process ended, hung or gave up. The sentence says what became of the file."""


async def answers(
    job: dict[str, Any], patience_s: float = PATIENCE_S
) -> AsyncGenerator[dict[str, Any], None]:
    """Every answer to one job, in a process that lives as long as it takes.

    Raises ReadingFailed: no answer within `patience_s`, or the process has ended.
    """
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "server.paperwork.reader"),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.DEVNULL,
        cwd=_PROJECT,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        limit=LINE_MOST,
    )
    ending = False
    try:
        assert process.stdin is not None  # noqa: S101 - both are pipes
        assert process.stdout is not None  # noqa: S101
        with contextlib.suppress(ConnectionError):
            process.stdin.write(json.dumps(job).encode() + b"\n")
            await process.stdin.drain()
            process.stdin.close()
        while True:
            try:
                line = await asyncio.wait_for(process.stdout.readline(), patience_s)
            except TimeoutError:
                raise ReadingFailed("The file takes too long to read.") from None
            except ValueError:
                raise ReadingFailed("The file holds more than can be taken.") from None
            if not line:
                ending = True
                raise ReadingFailed("The file needs more memory or time than reading may take.")
            answer = json.loads(line)
            if answer.get("done"):
                ending = True
                return
            if "failed" in answer:
                ending = True
                raise ReadingFailed(str(answer["failed"]))
            yield answer
    finally:
        # One that is ending by itself must be left to: asking after it would take its end from asyncio.
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(process.wait(), ENDING_S if ending else 0)
        if process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
            await process.wait()
