"""The description at /openapi.json leaves nothing open; tests/outside holds what it says against answers."""

from typing import Any

from tests.servers import Server

__all__: list[str] = []


def _calls(server: Server) -> dict[str, dict[str, Any]]:
    description = server.client().get("/openapi.json").json()
    return {
        f"{way.upper()} {path}": call
        for path, calls in description["paths"].items()
        for way, call in calls.items()
    }


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
    calls = _calls(server)
    assert len(calls) > 20
    vague = [
        name
        for name, call in calls.items()
        for _, schema in _schemas(call, good=True)
        if schema.get("additionalProperties") is True
        or (schema.get("items") or {}).get("additionalProperties")
    ]
    assert not vague


def test_what_a_description_refers_to_is_there(server: Server) -> None:
    description = server.client().get("/openapi.json")
    known = description.json()["components"]["schemas"]
    wanted = {part.split('"')[0] for part in description.text.split("#/components/schemas/")[1:]}
    assert wanted <= known.keys()
