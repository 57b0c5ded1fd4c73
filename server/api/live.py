"""The live channel: one WebSocket per page."""

import asyncio
import time
from contextlib import suppress

from fastapi import APIRouter, WebSocket, WebSocketDisconnect
from starlette.websockets import WebSocketState

from server.api.hub import NOT_JOINED, Phone
from server.api.messages import Asked, MessageError, Signal, read
from server.api.people import bearer, person_with
from server.api.room import Done, Room
from server.api.view import said_view
from server.journal.store import NotKeptError
from server.rig.said import Said
from server.stage.holds import Refused
from server.stage.state import Person

__all__ = ["router"]

MESSAGES_PER_S = 120.0  # a thumb makes 30; beyond this the phone is slowed, nobody else
BURST = 240.0
FAIR = 2048  # characters that count as one message: a long one takes its share of work
GONE = (TimeoutError, WebSocketDisconnect)  # a phone that listens no more: nothing is wrong here

router = APIRouter()


@router.websocket("/api/live")
async def live(socket: WebSocket) -> None:
    """Hello, then changes, while commands are answered one by one."""
    room: Room = socket.app.state.room
    await socket.accept()
    person = person_with(room, bearer(socket))
    if person is None:
        why = Said("You have not joined. Join with your name first.")
        await socket.send_json({"is": "refused", "n": 0, **said_view(why)})
        await socket.close(NOT_JOINED)
        return
    room.arrive(person.id)
    try:
        await _serve(socket, room, person)
    finally:
        room.withdraw(person.id)


async def _serve(socket: WebSocket, room: Room, person: Person) -> None:
    phone = room.hub.connect(person, socket.send_text, socket.query_params.get("open", ""))
    sending = asyncio.create_task(phone.run())
    listening = asyncio.create_task(_listen(socket, room, phone))
    try:
        await asyncio.wait((sending, listening), return_when=asyncio.FIRST_COMPLETED)
    finally:
        room.hub.disconnect(phone)
        for task in (sending, listening):
            task.cancel()
        for ended in await asyncio.gather(sending, listening, return_exceptions=True):
            if isinstance(ended, Exception) and not isinstance(ended, GONE):
                raise ended
    if phone.ended is not None and socket.client_state is WebSocketState.CONNECTED:
        with suppress(*GONE):
            await socket.close(phone.ended)


async def _listen(socket: WebSocket, room: Room, phone: Phone) -> None:
    credit, last = BURST, time.monotonic()
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            return
        now = time.monotonic()
        text = message.get("text")
        credit = min(BURST, credit + (now - last) * MESSAGES_PER_S) - 1 - len(text or "") // FAIR
        last = now
        if credit < 0:
            await asyncio.sleep(-credit / MESSAGES_PER_S)
        if text is None:
            phone.reply({"is": "refused", "n": 0, "why": "A message is text, not binary."})
        else:
            _answer(room, phone, text)


def _answer(room: Room, phone: Phone, text: str) -> None:
    try:
        asked = read(text, phone.person)
    except MessageError as wrong:
        phone.reply({"is": "refused", "n": wrong.n, "why": wrong.why})
        return
    if isinstance(asked.command, Signal):
        room.hub.signal(phone.person, asked.command.rtt_ms)
        phone.reply({"is": "ok", "n": asked.n, "rev": room.stage.rev})
        return
    done = room.ask(asked.command, entry=asked.entry, ago_s=asked.ago_s)
    if isinstance(done, Refused):
        phone.reply(_refused(asked, done))
    else:
        done.kept.add_done_callback(lambda _: _acknowledge(room, phone, asked, done))


def _acknowledge(room: Room, phone: Phone, asked: Asked, done: Done) -> None:
    if done.kept.cancelled():
        return
    wrong = done.kept.exception()
    if wrong is None:
        phone.reply({"is": "ok", "n": asked.n, "rev": done.rev})
    else:
        why = wrong.why if isinstance(wrong, NotKeptError) else Said("Something in the server went wrong.")
        phone.reply({"is": "refused", "n": asked.n, **said_view(why)})


def _refused(asked: Asked, refused: Refused) -> dict[str, object]:
    more = {"fixture": refused.fixture, "holder": refused.holder, "ask": refused.ask}
    said = {key: value for key, value in more.items() if value is not None}
    return {"is": "refused", "n": asked.n, **said_view(refused.why), **said}
