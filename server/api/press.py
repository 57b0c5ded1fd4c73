"""Draws papers in a process of their own, one at a time: touches share this interpreter, a paper must not."""

import asyncio
import logging
import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any

from server.api.problems import Problem
from server.paperwork.printed.rows import Job
from server.rig.said import Said

__all__ = ["Press"]

log = logging.getLogger(__name__)

MOST_WAITING = 8  # each waits for the one before: the last of them for some seconds at least
LONGEST_S = 120.0
_PROJECT = Path(__file__).resolve().parents[2]
# Ctrl-C in the terminal is for the server, which then ends the drawing itself.
_APART: dict[str, Any] = (
    {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
    if os.name == "nt"
    else {"start_new_session": True}
)


class Press:
    """One for a server."""

    def __init__(self) -> None:
        self._free = asyncio.Semaphore(1)
        self._waiting = 0

    async def draw(self, job: Job) -> bytes:
        """The PDF. Raises Problem: too many wait for theirs, or it took too long, or broke."""
        if self._waiting >= MOST_WAITING:
            raise Problem(
                503, Said("Other papers are being made. Try again in a moment."), {"Retry-After": "10"}
            )
        self._waiting += 1
        try:
            async with self._free:
                return await _draw(job.to_json())
        finally:
            self._waiting -= 1


async def _draw(job: bytes) -> bytes:
    pipe = asyncio.subprocess.PIPE
    command = [sys.executable, "-m", "server.paperwork.printed"]
    child = await asyncio.create_subprocess_exec(
        *command, stdin=pipe, stdout=pipe, stderr=pipe, cwd=_PROJECT, **_APART
    )
    try:
        async with asyncio.timeout(LONGEST_S):
            drawn, wrong = await child.communicate(job)
    except TimeoutError:
        raise Problem(503, Said("That paper took too long. Choose fewer fixtures.")) from None
    finally:
        if child.returncode is None:
            with suppress(ProcessLookupError):
                child.kill()
            await child.wait()
    if child.returncode != 0:
        log.error("a paper was not drawn: %s", wrong.decode(errors="replace")[-2000:])
        raise Problem(500, Said("The paper could not be made. The light stays as it is."))
    return drawn
