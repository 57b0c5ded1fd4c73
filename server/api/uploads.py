"""What comes in with a request: a file (the form field `file`, or the body itself) or fields. Bounded."""

import shutil
from pathlib import Path
from typing import BinaryIO

from fastapi import HTTPException, Request
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.api.problems import Problem
from server.rig.said import Said

__all__ = ["LONGEST_FIELDS", "ShortBodies", "body_or_file", "spooled"]

FILES_MOST = 1000  # in one form; more go into one archive, or into the folder
LONGEST_FIELDS = 256 * 1024  # octets; an address for every fixture a rig may hold is 190 kB


async def body_or_file(request: Request, longest: int) -> bytes:
    """The file's bytes. Raises Problem: larger than `longest` octets, or not there."""
    told = request.headers.get("content-length")
    if told is not None and int(told) > longest:
        raise _too_long(longest)
    if request.headers.get("content-type", "").startswith("multipart/form-data"):
        if told is None:  # a form is put on the disk before it can be measured
            raise Problem(411, Said("Say how long the form is: Content-Length is missing."))
        async with request.form(max_files=1, max_fields=8) as form:
            file = form.get("file")
            if not isinstance(file, UploadFile):
                raise Problem(422, Said("Send the file in a form field called file."))
            data = await file.read(longest + 1)
    else:
        gathered = bytearray()
        async for part in request.stream():
            gathered += part
            if len(gathered) > longest:
                break
        data = bytes(gathered)
    if len(data) > longest:
        raise _too_long(longest)
    if not data:
        raise Problem(422, Said("The request holds no file."))
    return data


async def spooled(request: Request, longest: int, folder: Path) -> list[tuple[str, Path]]:
    """Every file of the request put into a folder: the name it came with, and where it is.

    The form field `file` may be there several times; a body is one file. Raises Problem: all of them together
    larger than `longest` octets, or none there.
    """
    told = request.headers.get("content-length")
    if told is not None and int(told) > longest:
        raise _too_long(longest)
    if not request.headers.get("content-type", "").startswith("multipart/form-data"):
        return [("", await _body_to(request, longest, folder / "0"))]
    if told is None:
        raise Problem(411, Said("Say how long the form is: Content-Length is missing."))
    out = []
    async with request.form(max_files=FILES_MOST, max_fields=8) as form:
        for number, file in enumerate(form.getlist("file")):
            if not isinstance(file, UploadFile):
                raise Problem(422, Said("Send the file in a form field called file."))
            path = folder / str(number)
            await run_in_threadpool(_copy, file.file, path)
            out.append((file.filename or "", path))
    if not out:
        raise Problem(422, Said("Send the file in a form field called file."))
    if not any(path.stat().st_size for _, path in out):
        raise Problem(422, Said("The request holds no file."))
    return out


def _copy(file: BinaryIO, path: Path) -> None:
    with path.open("wb") as out:
        shutil.copyfileobj(file, out)


async def _body_to(request: Request, longest: int, path: Path) -> Path:
    came = 0
    with path.open("wb") as out:
        async for part in request.stream():
            came += len(part)
            if came > longest:
                raise _too_long(longest)
            out.write(part)
    if not came:
        raise Problem(422, Said("The request holds no file."))
    return path


def _too_long(longest: int) -> Problem:
    return Problem(413, Said("A file may have up to {most} MiB.", most=longest // 1024 // 1024))


class ShortBodies:
    """Stops a request whose fields are read whole before anybody asks who sends them.

    A route that takes a file reads it itself, and bounds it itself.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand on, counting."""
        came = 0

        async def counted() -> Message:
            nonlocal came
            message = await receive()
            came += len(message.get("body", b""))
            if came > LONGEST_FIELDS and _reads_fields(scope):
                raise HTTPException(413, f"A request may have up to {LONGEST_FIELDS // 1024} kB.")
            return message

        await self.app(scope, counted if scope["type"] == "http" else receive, send)


def _reads_fields(scope: Scope) -> bool:
    route = scope.get("route")
    return isinstance(route, APIRoute) and route.body_field is not None
