"""Reads answers over HTTP: what was given, or the problem in the shape that RFC 9457 lays down."""

from typing import Any

import httpx

__all__ = ["given", "problem"]


def given(answer: httpx.Response, status: int = 200) -> Any:
    """The JSON of an answer with that status; None where it has no content."""
    assert answer.status_code == status, answer.text
    return answer.json() if answer.content else None


def problem(answer: httpx.Response, status: int) -> str:
    """The sentence of a problem with that status.

    RFC 9457, 3: media type application/problem+json; members type (absent means about:blank), title, status,
    detail; with about:blank the title is the status's own phrase (4.2.1).
    """
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    body = answer.json()
    assert body["type"] == "about:blank"
    assert body["title"] == httpx.codes.get_reason_phrase(status)
    assert body["status"] == status
    detail: str = body["detail"]
    assert detail[0].isupper() or detail.partition(":")[0].replace(".", "").replace("_", "").islower(), detail
    assert detail[-1] in ".?", detail
    assert "Traceback" not in detail
    return detail
