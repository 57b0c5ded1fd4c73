"""The description at /openapi.json leaves nothing open; tests/outside holds what it says against answers."""

from typing import Any

import pytest
from pydantic import create_model

from server.api.answers import ANSWERS
from server.api.described import SCHEMAS, add, shapes
from tests.servers import Server

__all__: list[str] = []


def _calls(server: Server) -> dict[str, dict[str, Any]]:
    description = server.client().get("/openapi.json").json()
    return {
        f"{way.upper()} {path}": call
        for path, calls in description["paths"].items()
        for way, call in calls.items()
    }


def _whole(description: dict[str, Any], part: Any) -> Any:
    """That part of the description with what it refers to put in its place."""
    if isinstance(part, list):
        return [_whole(description, one) for one in part]
    if not isinstance(part, dict):
        return part
    if "$ref" in part:
        return _whole(description, description["components"]["schemas"][part["$ref"].removeprefix(SCHEMAS)])
    return {key: _whole(description, one) for key, one in part.items()}


def _schemas(call: dict[str, Any], good: bool) -> list[tuple[str, Any]]:
    return [
        (kind, content["schema"])
        for code, answer in call["responses"].items()
        if (code < "400") == good
        for kind, content in answer.get("content", {}).items()
    ]


def test_every_error_is_a_problem_and_every_call_for_those_who_joined_may_answer_401(server: Server) -> None:
    for name, call in _calls(server).items():
        for kind, schema in _schemas(call, good=False):
            assert (kind, schema) == (
                "application/problem+json",
                {"$ref": "#/components/schemas/ProblemDetails"},
            )
        assert ("401" in call["responses"]) == bool(call.get("security")), name
    assert "401" not in _calls(server)["GET /api/health"]["responses"]


def test_no_answer_is_just_any_object(server: Server) -> None:
    description = server.client().get("/openapi.json").json()
    calls = _calls(server)
    assert len(calls) > 20
    vague = [
        name
        for name, call in calls.items()
        for _, given in _schemas(call, good=True)
        for schema in [_whole(description, given)]
        if schema.get("additionalProperties") is True
        or (schema.get("items") or {}).get("additionalProperties")
    ]
    assert not vague


def test_what_a_description_refers_to_is_there(server: Server) -> None:
    description = server.client().get("/openapi.json")
    known = description.json()["components"]["schemas"]
    wanted = {part.split('"')[0] for part in description.text.split("#/components/schemas/")[1:]}
    assert wanted <= known.keys()


def test_each_answer_is_described_as_it_is_by_itself(server: Server) -> None:
    description = server.client().get("/openapi.json").json()
    for (way, path), kind in ANSWERS.items():
        alone, parts = shapes({(way, path): kind})
        wanted = _whole({"components": {"schemas": parts}}, alone[way, path])
        ((_, given),) = _schemas(description["paths"][path][way], good=True)
        assert _whole(description, given) == wanted, path


def test_two_shapes_of_one_name_are_told_apart_and_none_takes_the_place_of_another() -> None:
    one = create_model("Row", __module__="one", first=(int, ...))
    other = create_model("Row", __module__="other", second=(str, ...))
    answers, parts = shapes({("get", "/one"): list[one], ("get", "/other"): list[other]})
    described = {path: _whole({"components": {"schemas": parts}}, it) for (_, path), it in answers.items()}
    assert described["/one"]["items"]["properties"].keys() == {"first"}
    assert described["/other"]["items"]["properties"].keys() == {"second"}
    add(parts, {"Row": {"type": "string"}, **parts})
    with pytest.raises(ValueError, match="two shapes are called Row"):
        add(parts, {"Row": {"type": "integer"}})
