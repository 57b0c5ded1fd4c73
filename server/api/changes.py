"""The newest changes: who did what, and what undoing each of them would do."""

import time
from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Query

from server.api.people import Asker, RoomOf
from server.api.room import Room
from server.rig.said import Said
from server.stage import events
from server.stage.commands import Undo
from server.stage.decide import decide
from server.stage.foretold import foretold
from server.stage.holds import Refused
from server.stage.near import called
from server.stage.state import Change, Person
from server.stage.subject import fixtures_in
from server.stage.undo import about_fixture

__all__ = ["router"]

MOST = 50  # each is tried out to say what undoing it would do, and the light must not wait for that

router = APIRouter(prefix="/api", tags=["record"])


@router.get("/changes")
async def changes(
    asker: Asker,
    room: RoomOf,
    fixture: Annotated[str, Query(max_length=64)] = "",
    mine: bool = False,
    limit: Annotated[int, Query(ge=1, le=MOST)] = 20,
) -> list[dict[str, Any]]:
    """The newest first; fixture: only what is about that one; mine: only one's own.

    House staff see their own, and what is about house fixtures.
    """
    kept = room.stage.state.changes.values()
    chosen = (
        change
        for change in reversed(kept)
        if (not fixture or about_fixture(fixture) in change.about)
        and (not mine or change.person == asker.id)
        and (asker.role != "house" or _of_the_house(room, change, asker))
    )
    return [_shown(room, change, asker) for change, _ in zip(chosen, range(limit), strict=False)]


def _of_the_house(room: Room, change: Change, asker: Person) -> bool:
    fixtures = [room.stage.state.fixtures.get(f) for f in fixtures_in(change.about)]
    return change.person == asker.id or (bool(fixtures) and all(unit and unit.house for unit in fixtures))


def _shown(room: Room, change: Change, asker: Person) -> dict[str, Any]:
    """As `ChangeAnswer` says."""
    state, what = room.stage.state, Said.of(change.what)
    asked = Undo(asker.id, change.number)
    answer = decide(state, asked, time.time(), room.stage.rules)
    tried = answer
    if isinstance(answer, Refused) and answer.ask in ("take", "held"):
        tried = decide(state, replace(asked, over=True, held=True), time.time(), room.stage.rules)
    shown: dict[str, Any] = {
        "change": change.number,
        "at": change.at,
        "by": {"id": change.person, "name": change.name},
        "fixtures": fixtures_in(change.about),
        "what": what,
        "said": what.parts(),
        "final": change.before is None,
        "undone": None if change.undone is None else called(state, change.undone.person),
        "can": not isinstance(answer, Refused),
        "will": None,
        "why": None,
        "ask": None,
    }
    for event in () if isinstance(tried, Refused) else tried:
        if isinstance(event, events.PutBack):
            will = foretold(state, asker.id, event.before)
            shown["will"] = {"text": will, "said": will.parts()}
    if isinstance(answer, Refused):
        shown["why"] = {"text": answer.why, "said": answer.why.parts()}
        shown["ask"] = answer.ask
    return shown
