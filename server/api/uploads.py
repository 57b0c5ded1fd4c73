"""A file that comes with a request: the form field `file`, or the body itself. Bounded."""

from fastapi import Request
from starlette.datastructures import UploadFile

from server.api.problems import Problem

__all__ = ["body_or_file"]


async def body_or_file(request: Request, longest: int) -> bytes:
    """The file's bytes. Raises Problem: larger than `longest` octets, or not there."""
    told = request.headers.get("content-length")
    if told is not None and int(told) > longest:
        raise _too_long(longest)
    if request.headers.get("content-type", "").startswith("multipart/form-data"):
        if told is None:  # a form is put on the disk before it can be measured
            raise Problem(411, "Say how long the form is: Content-Length is missing.")
        async with request.form(max_files=1, max_fields=8) as form:
            file = form.get("file")
            if not isinstance(file, UploadFile):
                raise Problem(422, "Send the file in a form field called file.")
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
        raise Problem(422, "The request holds no file.")
    return data


def _too_long(longest: int) -> Problem:
    return Problem(413, f"A file may have up to {longest // 1024 // 1024} MiB.")
