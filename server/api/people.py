"""Joining with a name and a PIN, being called and removed, and who asks."""

import hashlib
import re
import secrets
import time
import uuid
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request, Response
from pydantic import BaseModel, Field
from starlette.requests import HTTPConnection

from server.api.phone_kind import phone_kind
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.rig.said import Said
from server.stage.commands import Command, Join, Leave, RemovePerson, RenamePerson, SetPin
from server.stage.decide import allow
from server.stage.decide_people import free_name
from server.stage.holds import Refused
from server.stage.state import Person, Role

__all__ = ["COOKIE", "Asker", "RoomOf", "bearer", "person_with", "router"]

COOKIE = "focuscall"
COOKIE_S = 30 * 24 * 3600
TOKEN_OCTETS = 24  # 192 bits by chance: nobody guesses one
LOCAL = ("127.0.0.1", "::1")
PIN = r"^[0-9]{4,8}$"

router = APIRouter(prefix="/api", tags=["people"])


def _room(connection: HTTPConnection) -> Room:
    room: Room = connection.app.state.room
    return room


RoomOf = Annotated[Room, Depends(_room)]


def bearer(connection: HTTPConnection) -> str:
    """The token a request brings: Authorization header, cookie, or in the address of a socket; "" for none.

    The cookie counts for a change only where a browser says which page asks; the door has looked at that.
    """
    header = connection.headers.get("authorization", "")
    if header.lower().startswith("bearer "):
        return header[7:].strip()
    socket = connection.scope["type"] == "websocket"
    # Only there, where a page cannot set a header: addresses end up in histories and logs.
    if socket and (token := connection.query_params.get("token")):
        return token
    reading = not socket and connection.scope["method"] in ("GET", "HEAD")
    return connection.cookies.get(COOKIE, "") if reading or "origin" in connection.headers else ""


def person_with(room: Room, token: str) -> Person | None:
    """Whose token that is."""
    wanted = _hash(token)
    return next((p for p in room.stage.state.people.values() if p.token_hash == wanted), None)


def _asker(request: Request, room: RoomOf) -> Person:
    token = bearer(request)
    person = person_with(room, token)
    if person is not None:
        return person
    if not token and COOKIE in request.cookies:
        raise Problem(403, Said("Send the token as Authorization: Bearer. The cookie alone is for the page."))
    raise Problem(401, Said("You have not joined. Join with your name and the PIN the laptop shows."))


Asker = Annotated[Person, Depends(_asker)]


class JoinRequest(BaseModel):
    """A name, and the PIN of a role."""

    name: str = Field(max_length=200)
    pin: str = Field("", max_length=20)


class NewName(BaseModel):
    """What somebody is to be called."""

    name: str = Field(max_length=200)


class NewPin(BaseModel):
    """Another PIN for a role: four to eight digits."""

    pin: str = Field(max_length=20)


@router.post("/join")
async def join(wanted: JoinRequest, request: Request, response: Response, room: RoomOf) -> dict[str, Any]:
    """Be known under a name; the token also comes as a cookie that scripts cannot read."""
    name = " ".join(wanted.name.split())
    host = request.client.host if request.client else ""
    role = await _role(room, wanted.pin.strip(), host)
    token = secrets.token_urlsafe(TOKEN_OCTETS)
    phone = phone_kind(request.headers.get("user-agent", ""))
    person = Person(f"p{uuid.uuid4().hex[:8]}", name, role, _hash(token), phone)
    free = free_name(room.stage.state, name, time.time())
    done = await room.do(Join(person.id, person))
    if isinstance(done, Refused):
        raise refusal(done) if free == name else Problem(409, done.why, name=free)
    # Strict: nothing that another site begins brings it, and the page needs it only for what it asks itself.
    response.set_cookie(COOKIE, token, max_age=COOKIE_S, httponly=True, samesite="strict")
    return {"token": token, "person": _shown(person)}


@router.get("/session")
async def session(asker: Asker) -> dict[str, Any]:
    """Who this phone is."""
    return {"person": _shown(asker)}


@router.post("/leave", status_code=204)
async def leave(asker: Asker, room: RoomOf, response: Response) -> None:
    """Let go of everything and be forgotten."""
    await _do(room, Leave(asker.id))
    response.delete_cookie(COOKIE, httponly=True, samesite="strict")


@router.patch("/people/{person}")
async def rename(person: str, wanted: NewName, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Call oneself something else, or (the lead) anybody."""
    await _do(room, RenamePerson(asker.id, person, wanted.name))
    return {"person": _shown(room.stage.state.people[person])}


@router.delete("/people/{person}", status_code=204)
async def remove(person: str, asker: Asker, room: RoomOf) -> None:
    """Let go of everything somebody holds and forget their phone, at once. For the lead."""
    await _do(room, RemovePerson(asker.id, person))


@router.put("/pins/{role}")
async def set_pin(role: str, wanted: NewPin, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Let a role have another PIN. For the lead. given: the settings name one, for the next start."""
    if refused := allow(room.stage.state, asker.id, "lead"):  # before anything is worked out for them
        raise refusal(refused)
    if not re.fullmatch(PIN, wanted.pin):
        raise Problem(422, Said("A PIN has four to eight digits."))
    if await room.pins.role_of(wanted.pin) not in (None, role):
        raise Problem(422, Said("Another role has that PIN. Give each role a PIN of its own."))
    kept = await room.pins.hash(wanted.pin)
    await _do(room, SetPin(asker.id, role, kept))
    room.pins.put(role, kept)
    return {"role": role, "given": role in room.pins.given}


def _shown(person: Person) -> dict[str, str]:
    return {"id": person.id, "name": person.name, "role": person.role}


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


async def _do(room: Room, command: Command) -> None:
    done = await room.do(command)
    if isinstance(done, Refused):
        raise refusal(done)


async def _role(room: Room, pin: str, host: str) -> Role:
    """The role that a PIN makes. Raises Problem: none, or too many wrong ones came from that address."""
    if wait := room.attempts.begin(host, time.monotonic()):
        why = Said("Too many wrong PINs came from here. Wait {wait} seconds, then try again.", wait=wait)
        raise Problem(429, why, {"Retry-After": str(wait)})
    role = None
    try:
        role = await room.pins.role_of(pin)
        if role is None and room.settings.open_house:
            role = "lead" if host in LOCAL else "crew"
    finally:
        room.attempts.end(host, role is not None, time.monotonic())
    if role is None:
        raise Problem(403, Said("No role has that PIN. Ask the lead for one."))
    return role
