"""What comes in with a request: a file (the form field `file`, or the body itself) or fields. Bounded."""

from fastapi import HTTPException, Request
from fastapi.routing import APIRoute
from starlette.datastructures import UploadFile
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.api.problems import Problem
from server.rig.said import Said

__all__ = ["LONGEST_FIELDS", "ShortBodies", "body_or_file"]

LONGEST_FIELDS = 128 * 1024  # octets; a focus order of every fixture a rig may hold is half of it


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
