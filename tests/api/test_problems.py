"""What becomes of an error nobody foresaw, and of the stage's refusals."""

import asyncio

import httpx
from fastapi import FastAPI

from server.api.problems import install, refusal
from server.rig.said import Said
from server.stage.holds import Refused
from tests.api.answers import problem

__all__: list[str] = []


def test_a_fault_of_ours_is_told_without_its_workings() -> None:
    app = FastAPI()
    install(app)

    @app.get("/")
    async def broken() -> None:
        raise ZeroDivisionError("secret")

    async def ask() -> httpx.Response:
        inside = httpx.ASGITransport(app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=inside, base_url="http://x") as client:
            return await client.get("/")

    assert (
        problem(asyncio.run(ask()), 500)
        == "Something in the server itself went wrong. The light stays as it is."
    )


def test_a_refusal_says_what_would_make_it_possible() -> None:
    told = refusal(Refused(Said("Mo has 21. Take it?"), "f-21", "p-mo", "take"))
    assert (told.status, told.detail) == (409, "Mo has 21. Take it?")
    assert told.more == {"fixture": "f-21", "holder": "p-mo", "ask": "take"}
    assert refusal(Refused(Said("Only the lead can do that."))).status == 403
    assert refusal(Refused(Said("The master goes from 0 to 1, not 2."))).status == 422
