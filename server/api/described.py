"""The description at /openapi.json: with what is really answered, errors included."""

from collections.abc import Mapping
from typing import Any

from fastapi import FastAPI
from pydantic import TypeAdapter

from server.api.answers import (
    ANSWERS,
    EXAMPLES,
    FILE_BODY,
    FOR_THE_LEAD,
    GIVE_FILES,
    OPEN_TO_ALL,
    TAKE_FILES,
    ProblemDetails,
)

__all__ = ["Place", "add", "described", "shapes"]

Place = tuple[str, str]  # of a call: its way and its address, as FastAPI knows them

SCHEMAS = "#/components/schemas/"
ERRORS = {
    400: "The request could not be read.",
    401: "Nobody has joined with this token.",
    403: "Not for this role, or not with this PIN.",
    404: "There is no such thing (any more).",
    409: "Possible once it is taken over, or while it is held: `ask` says which.",
    411: "A form without its length.",
    413: "More than is taken.",
    422: "Not done; `detail` says why in a sentence.",
    429: "Too many wrong PINs came from here; wait a minute.",
    503: "Too much is being made already, or it took too long.",
}
TOKEN = {
    "bearer": {"type": "http", "scheme": "bearer"},
    "cookie": {"type": "apiKey", "in": "cookie", "name": "focuscall"},
}


def described(app: FastAPI) -> dict[str, Any]:
    """The application's own description, and more than its routes know; made once."""
    new = app.openapi_schema is None
    description = app.openapi()
    if new:
        _complete(description)
    return description


def shapes(answers: Mapping[Place, Any]) -> tuple[dict[Place, dict[str, Any]], dict[str, Any]]:
    """The schema of the answer to each call, and what they are made of, by name.

    All at once, so that two of one name, in two files, are called by their files as well.
    """
    wanted = [(place, "serialization", TypeAdapter(kind)) for place, kind in answers.items()]
    made, parts = TypeAdapter.json_schemas(wanted, ref_template=SCHEMAS + "{model}")  # type: ignore[arg-type]
    return {place: schema for (place, _), schema in made.items()}, parts.get("$defs", {})


def add(schemas: dict[str, Any], more: Mapping[str, Any]) -> None:
    """Add schemas by name. Raises ValueError: one of these names is another's already."""
    for name, schema in more.items():
        if schemas.setdefault(name, schema) != schema:
            raise ValueError(f"two shapes are called {name}: call one of them otherwise")


def _complete(description: dict[str, Any]) -> None:
    schemas = description["components"]["schemas"]
    description["components"]["securitySchemes"] = TOKEN
    answers, parts = shapes(ANSWERS)
    add(schemas, parts)
    add(schemas, {"ProblemDetails": TypeAdapter(ProblemDetails).json_schema(mode="serialization")})
    for path, calls in description["paths"].items():
        for way, call in calls.items():
            place = way, path
            if place in TAKE_FILES:
                call["requestBody"] = FILE_BODY
            if place in EXAMPLES:
                call["requestBody"]["content"]["application/json"]["example"] = EXAMPLES[place]
            if place not in OPEN_TO_ALL:
                call["security"] = [{name: []} for name in TOKEN]
            if place in answers:
                done = next(code for code in call["responses"] if code.startswith("2"))
                call["responses"][done]["content"] = {"application/json": {"schema": answers[place]}}
            for status in _errors(place, call):
                call["responses"][str(status)] = _problem(ERRORS[status])
    for unused in ("HTTPValidationError", "ValidationError"):
        schemas.pop(unused, None)
    for (way, path), (kind, schema) in GIVE_FILES.items():
        description["paths"][path][way]["responses"]["200"]["content"] = {kind: {"schema": schema}}


def _errors(place: tuple[str, str], call: dict[str, Any]) -> list[int]:
    """What may go wrong with a call, as far as that follows from what it takes."""
    way, path = place
    found = set[int]()
    if place not in OPEN_TO_ALL:
        found.add(401)
    if path == "/api/join":
        found |= {403, 429}
    if "{" in path or path == "/api/faults/guide":
        found.add(404)
    if path == "/api/teach/draft":
        found |= {403, 404}
    if path.startswith("/api/papers/") or path == "/api/handover.zip":
        found.add(503)
    if "requestBody" in call:
        found |= {400, 411, 413} if place in TAKE_FILES else {400, 413}
    if place in FOR_THE_LEAD:
        found |= {403, 422}
    if way != "get":
        found |= {403, 409, 422}
    elif call.get("parameters"):
        found.add(422)
    return sorted(found)


def _problem(words: str) -> dict[str, Any]:
    content = {"application/problem+json": {"schema": {"$ref": f"{SCHEMAS}ProblemDetails"}}}
    return {"description": words, "content": content}
