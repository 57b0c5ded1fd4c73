"""Joining with a name and a PIN, and who asks."""

import hashlib
import secrets
import time
import uuid
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, Response
from pydantic import BaseModel, Field
from starlette.requests import HTTPConnection

from server.api.problems import Problem, refusal
from server.api.room import Room
from server.rig.said import Said
from server.settings import Settings
from server.stage.commands import Join, Leave
from server.stage.holds import Refused
from server.stage.state import Person, Role

__all__ = ["COOKIE", "Asker", "RoomOf", "bearer", "person_with", "router"]

COOKIE = "focuscall"
COOKIE_S = 30 * 24 * 3600
LOCAL = ("127.0.0.1", "::1")

router = APIRouter(prefix="/api", tags=["people"])


def _room(connection: HTTPConnection) -> Room:
    room: Room = connection.app.state.room
    return room


RoomOf = Annotated[Room, Depends(_room)]


def bearer(connection: HTTPConnection) -> str:
    """The token a request brings: Authorization header, query or cookie; "" for none."""
    header = connection.headers.get("authorization", "")
    if header.lower().startswith("bearer "):
        return header[7:].strip()
    return connection.query_params.get("token") or connection.cookies.get(COOKIE, "")


def person_with(room: Room, token: str) -> Person | None:
    """Whose token that is."""
    wanted = _hash(token)
    return next((p for p in room.stage.state.people.values() if p.token_hash == wanted), None)


def _asker(request: Request, room: RoomOf) -> Person:
    person = person_with(room, bearer(request))
    if person is None:
        raise Problem(401, Said("You have not joined. Join with your name and the PIN the laptop shows."))
    return person


Asker = Annotated[Person, Depends(_asker)]


class JoinRequest(BaseModel):
    """A name, and the PIN of a role."""

    name: str = Field(max_length=200)
    pin: str = Field("", max_length=20)


@router.post("/join")
async def join(wanted: JoinRequest, request: Request, response: Response, room: RoomOf) -> dict[str, Any]:
    """Be known under a name; the token also comes as a cookie that scripts cannot read."""
    name = " ".join(wanted.name.split())
    if not 1 <= len(name) <= 30:
        raise Problem(422, Said("Give a name of 1 to 30 characters, so that others know who has a light."))
    host = request.client.host if request.client else ""
    if room.attempts.too_many(host, time.monotonic()):
        raise Problem(429, Said("Too many wrong PINs came from here. Wait a minute, then try again."))
    role = _role(room.settings, wanted.pin.strip(), host)
    if role is None:
        room.attempts.wrong(host, time.monotonic())
        raise Problem(403, Said("That PIN is not one of those the laptop shows."))
    token = secrets.token_urlsafe(24)
    person = Person(uuid.uuid4().hex[:8], name, role, _hash(token))
    done = await room.do(Join(person.id, person))
    if isinstance(done, Refused):
        raise refusal(done)
    response.set_cookie(COOKIE, token, max_age=COOKIE_S, httponly=True, samesite="lax")
    return {"token": token, "person": _shown(person)}


@router.get("/session")
async def session(asker: Asker) -> dict[str, Any]:
    """Who this phone is."""
    return {"person": _shown(asker)}


@router.post("/leave", status_code=204)
async def leave(asker: Asker, room: RoomOf, response: Response) -> None:
    """Let go of everything and be forgotten."""
    done = await room.do(Leave(asker.id))
    if isinstance(done, Refused):
        raise refusal(done)
    response.delete_cookie(COOKIE)


def _shown(person: Person) -> dict[str, str]:
    return {"id": person.id, "name": person.name, "role": person.role}


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _role(settings: Settings, pin: str, host: str) -> Role | None:
    pins = {"lead": settings.lead_pin, "crew": settings.crew_pin, "house": settings.house_pin}
    for role, right in pins.items():
        if right and secrets.compare_digest(pin.encode(), right.encode()):
            return role
    if settings.open_house:
        return "lead" if host in LOCAL else "crew"
    return None
