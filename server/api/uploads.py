"""A file that comes with a request: the form field `file`, or the body itself. Bounded."""

from fastapi import Request
from starlette.datastructures import UploadFile

from server.api.problems import Problem

__all__ = ["body_or_file"]


async def body_or_file(request: Request, longest: int) -> bytes:
    """The file's bytes. Raises Problem: larger than `longest` octets, or not there."""
    if int(request.headers.get("content-length") or 0) > longest:
        raise _too_long(longest)
    if request.headers.get("content-type", "").startswith("multipart/form-data"):
        async with request.form(max_files=1, max_fields=8) as form:
            file = form.get("file")
            if not isinstance(file, UploadFile):
                raise Problem(422, "Send the file in a form field called file.")
            data = await file.read(longest + 1)
    else:
        data = b""
        async for part in request.stream():
            data += part
            if len(data) > longest:
                break
    if len(data) > longest:
        raise _too_long(longest)
    if not data:
        raise Problem(422, "The request holds no file.")
    return data


def _too_long(longest: int) -> Problem:
    return Problem(413, f"A file may have up to {longest // 1024 // 1024} MiB.")
