"""The library of this laptop, over HTTP: what is on its shelf, and files by the thousand taken in."""

import json
import tempfile
from collections.abc import AsyncGenerator
from contextlib import aclosing
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import StreamingResponse
from starlette.concurrency import run_in_threadpool
from starlette.types import Receive, Scope, Send

from server.api.people import Asker, RoomOf
from server.api.problems import refusal
from server.api.room import Room
from server.api.uploads import spooled
from server.paperwork.apart import ReadingFailed, answers
from server.paperwork.library import Library
from server.paperwork.profile_json import digest_of
from server.stage.decide import allow

__all__ = ["LONGEST_FILES", "PROBLEMS_MOST", "Told", "router", "taken_in"]

LONGEST_FILES = 128 * 1024 * 1024  # all of one request; more go into the folder
PROBLEMS_MOST = 1000  # told in one answer
FAILURES_MOST = 8  # reading processes that ended before their time, of one request

router = APIRouter(prefix="/api", tags=["profiles"])


@router.get("/library")
async def library(asker: Asker, room: RoomOf) -> dict[str, Any]:
    """How many profiles there are, how many files are still to be read, and which cannot be used, and why."""
    problems = await run_in_threadpool(room.stock.shelf.problems, PROBLEMS_MOST)
    count = await run_in_threadpool(len, room.library)
    shown = [{"where": problem.where, "why": problem.why} for problem in problems]
    return {"profiles": count, "left": room.stock.left, "problems": shown}


class Told(StreamingResponse):
    """A line of JSON for each answer, as it comes. Whoever goes away ends what makes them, and the folder."""

    def __init__(
        self, found: AsyncGenerator[dict[str, Any], None], folder: tempfile.TemporaryDirectory[str]
    ) -> None:
        super().__init__((json.dumps(each) + "\n" async for each in found), media_type="application/x-ndjson")
        self._found, self._folder = found, folder

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        with self._folder:
            async with aclosing(self._found):
                await super().__call__(scope, receive, send)


@router.post("/library")
async def take_in(request: Request, asker: Asker, room: RoomOf) -> StreamingResponse:
    """Put profiles, JSON or .gdtf, or a zip of many, onto the shelf of this laptop; not into the show.

    Answers a line of JSON for each file as it is read: `name`, `key` (null: it gave no profile) and
    `problems`, what could not be taken from it, by mode and channel; before an `archive`, what it `holds`.
    """
    if refused := allow(room.stage.state, asker.id, "lead"):
        raise refusal(refused)
    folder = tempfile.TemporaryDirectory(prefix="focuscall-")
    try:
        files = await spooled(request, LONGEST_FILES, Path(folder.name))
    except BaseException:
        folder.cleanup()
        raise
    return Told(taken_in(room, files), folder)


async def taken_in(room: Room, files: list[tuple[str, Path]]) -> AsyncGenerator[dict[str, Any], None]:
    """What became of each file, in order. One that ends the reading process does not end the rest."""
    job: dict[str, Any] = {"do": "take in", "shelf": str(room.stock.shelf.path)}
    job |= {"folder": str(room.stock.folder), "kept": await run_in_threadpool(_digests, room.library)}
    job |= {"names": [name for name, _ in files], "paths": [str(path) for _, path in files]}
    done = failures = 0
    last, archives = "", set[str]()
    while True:
        try:
            async with aclosing(answers(job | {"skip": done})) as given:
                async for answer in given:
                    if "archive" not in answer:
                        done, last = done + 1, answer["name"]
                    elif answer["archive"] in archives:
                        continue
                    else:
                        archives.add(answer["archive"])
                    yield answer
            return
        except ReadingFailed as why:
            done, failures = done + 1, failures + 1
            first = done <= len(files) and not archives
            name = files[done - 1][0] if first else ""
            where = "" if first or not last else f"the one after {last}"
            problems = [{"where": where, "why": str(why)}]
            if failures == FAILURES_MOST:
                problems.append({"where": "", "why": "Too many such files: what comes after it is not read."})
            yield {"name": name, "key": None, "problems": problems}
            if failures == FAILURES_MOST:
                return


def _digests(library: Library) -> dict[str, str]:
    return {key: digest_of(profile) for key, profile in library.at_hand.items()}
