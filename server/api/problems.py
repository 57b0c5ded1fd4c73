"""Errors over HTTP as RFC 9457 problem details, each with a sentence a technician understands."""

from collections.abc import Mapping
from http import HTTPStatus

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from server.rig.said import Said
from server.stage.holds import Refused

__all__ = ["Problem", "install", "problem_answer", "refusal"]


# What the framework says of its own accord, as sentences.
SENTENCES = {
    400: "The request could not be read: {}.",
    404: Said("There is nothing at this address."),
    405: Said("This address does not take such a request."),
}


class Problem(Exception):
    """Answer this request with a status and a sentence."""

    def __init__(
        self, status: int, detail: Said, headers: Mapping[str, str] | None = None, **more: object
    ) -> None:
        super().__init__(detail)
        self.status, self.detail, self.headers, self.more = status, detail, headers, more


def refusal(refused: Refused) -> Problem:
    """The refusal of the stage as an answer over HTTP."""
    status = 409 if refused.ask else 403 if refused.why.startswith("Only the ") else 422
    more = {"fixture": refused.fixture, "holder": refused.holder, "ask": refused.ask}
    return Problem(status, refused.why, None, **{k: v for k, v in more.items() if v is not None})


def install(app: FastAPI) -> None:
    """Let the application answer every error in this shape."""

    @app.exception_handler(Problem)
    async def _problem(request: Request, wrong: Problem) -> JSONResponse:
        return problem_answer(wrong.status, wrong.detail, wrong.more, wrong.headers)

    @app.exception_handler(RequestValidationError)
    async def _invalid(request: Request, wrong: RequestValidationError) -> JSONResponse:
        first = wrong.errors()[0]
        if first["type"] == "json_invalid":
            return problem_answer(422, f"The request is not JSON: {first['ctx']['error']}.", {})
        where = ".".join(str(part) for part in first["loc"][1:]) or "the request"
        return problem_answer(422, f"{where}: {first['msg']}.", {})

    @app.exception_handler(HTTPException)
    async def _http(request: Request, wrong: HTTPException) -> JSONResponse:
        known = SENTENCES.get(wrong.status_code, "{}")
        detail = known if isinstance(known, Said) else known.format(wrong.detail)
        return problem_answer(wrong.status_code, detail, {}, wrong.headers)

    @app.exception_handler(ClientDisconnect)
    async def _gone(request: Request, wrong: ClientDisconnect) -> JSONResponse:
        # Nobody reads it: whoever asked is gone, and that is nothing wrong here.
        return problem_answer(400, "The request broke off.", {})

    @app.exception_handler(Exception)
    async def _broken(request: Request, wrong: Exception) -> JSONResponse:
        # Only the answer: it goes on upwards, and into the log.
        words = Said("Something in the server itself went wrong. The light stays as it is.")
        return problem_answer(500, words, {})


def problem_answer(
    status: int, detail: str, more: Mapping[str, object], headers: Mapping[str, str] | None = None
) -> JSONResponse:
    """A problem details object. more: further members of it."""
    body = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail if detail.endswith((".", "?")) else f"{detail}.",
        **({"said": detail.parts()} if isinstance(detail, Said) else {}),
        **more,
    }
    return JSONResponse(body, status, headers, media_type="application/problem+json")
