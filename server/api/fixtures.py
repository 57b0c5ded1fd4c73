"""The patch, over HTTP."""

import uuid
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.view import patch_view
from server.rig.patch import Fixture
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.commands import ChangePatch
from server.stage.holds import Refused

__all__ = ["profiles_for", "router"]

router = APIRouter(prefix="/api", tags=["fixtures"])

Text = Annotated[str, Field(max_length=200)]


class FixtureChange(BaseModel):
    """Some of a fixture's fields; those left out stay."""

    model_config = ConfigDict(extra="forbid", strict=True)

    channel: Annotated[int, Field(ge=0, le=99_999)] | None = None
    unit: Text = ""
    position: Text = ""
    purpose: Text = ""
    profile: Text = ""
    mode: Text = ""
    universe: int | None = None
    address: int | None = None
    house: bool = False
    guarded: bool = False
    work_light: bool = False
    notes: Annotated[str, Field(max_length=4000)] = ""
    cap: float = 1.0


class NewFixture(FixtureChange):
    """A fixture to be patched. universe and address are left out for one that is not patched."""

    profile: Text
    mode: Text


@router.get("/fixtures")
async def fixtures(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """All fixtures, in the order they were added."""
    return [patch_view(fixture) for fixture in room.stage.state.fixtures.values()]


@router.post("/fixtures", status_code=201)
async def add(wanted: NewFixture, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Patch one more fixture."""
    fixture = Fixture(id=uuid.uuid4().hex[:8], **wanted.model_dump())
    return await _put(room, asker.id, fixture)


@router.patch("/fixtures/{fixture}")
async def change(fixture: str, wanted: FixtureChange, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Change some of a fixture's fields."""
    before = _known(room, fixture)
    fields = {name: getattr(before, name) for name in before.__slots__} | wanted.model_dump(
        exclude_unset=True
    )
    return await _put(room, asker.id, Fixture(**fields))


@router.delete("/fixtures/{fixture}", status_code=204)
async def remove(fixture: str, asker: Asker, room: RoomOf) -> None:
    """Take a fixture out of the rig."""
    _known(room, fixture)
    done = await room.do(ChangePatch(asker.id, remove=(fixture,)))
    if isinstance(done, Refused):
        raise refusal(done)


def profiles_for(room: Room, keys: set[str]) -> tuple[Profile, ...]:
    """Those of the profiles that the show does not carry yet; the show keeps its own copy from then on."""
    new = keys - room.stage.state.profiles.keys()
    return tuple(room.library[key] for key in sorted(new) if key in room.library)


def _known(room: Room, fixture: str) -> Fixture:
    known = room.stage.state.fixtures.get(fixture)
    if known is None:
        raise Problem(404, Said("There is no such fixture any more."))
    return known


async def _put(room: Room, person: str, fixture: Fixture) -> dict[str, Any]:
    done = await room.do(ChangePatch(person, (fixture,), (), profiles_for(room, {fixture.profile})))
    if isinstance(done, Refused):
        raise refusal(done)
    return patch_view(fixture)
