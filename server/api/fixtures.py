"""The patch, over HTTP."""

import uuid
from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.view import patch_view
from server.paperwork.placed import PlacedFields, StartFields
from server.rig.patch import MORE_MOST, Fixture
from server.rig.place import Placed, Start
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.commands import ChangePatch
from server.stage.decide_patch import MOST_FIXTURES
from server.stage.holds import Refused

__all__ = ["FixtureChange", "changed", "profiles_for", "router"]

router = APIRouter(prefix="/api", tags=["fixtures"])

Id = Annotated[str, Field(max_length=200)]
Text = Annotated[str, Field(max_length=200)]
Heading = Annotated[str, Field(min_length=1, max_length=100)]
Cell = Annotated[str, Field(min_length=1, max_length=1000)]
Columns = Annotated[dict[Heading, Cell], Field(max_length=MORE_MOST)]


class FixtureChange(BaseModel):
    """Some of a fixture's fields; those left out stay. more: further columns of its paper, by heading."""

    # Blanks around a word would make another place of it than the one that a sheet names.
    model_config = ConfigDict(extra="forbid", strict=True, str_strip_whitespace=True)

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
    starts: Annotated[list[StartFields], Field(max_length=15)] = []
    placed: PlacedFields | None = None
    more: Columns = {}


class NewFixture(FixtureChange):
    """A fixture to be patched. universe and address are left out for one that is not patched."""

    profile: Text
    mode: Text


class FixtureChanges(BaseModel):
    """Some fields of several fixtures, by id; fixtures to add, in order; ids of those to take out."""

    model_config = ConfigDict(extra="forbid", strict=True)

    fixtures: Annotated[dict[str, FixtureChange], Field(max_length=MOST_FIXTURES)] = {}
    add: Annotated[list[NewFixture], Field(max_length=MOST_FIXTURES)] = []
    remove: Annotated[list[Id], Field(max_length=MOST_FIXTURES)] = []


@router.get("/fixtures")
async def fixtures(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """All fixtures, in the order they were added."""
    return [patch_view(fixture) for fixture in room.stage.state.fixtures.values()]


@router.post("/fixtures", status_code=201)
async def add(wanted: NewFixture, asker: Asker, room: RoomOf, even_so: bool = False) -> dict[str, Any]:
    """Patch one more fixture; with ?even_so=true also a second unit of that number at its position."""
    fixture = _new(wanted)
    await _put(room, asker.id, (fixture,), even_so)
    return patch_view(fixture)


@router.patch("/fixtures")
async def change_several(
    wanted: FixtureChanges, asker: Asker, room: RoomOf, even_so: bool = False
) -> list[dict[str, Any]]:
    """Change, add and take out several fixtures in one go, all or none: addresses may be swapped.

    Answers those that were changed and then those that were added. It is one change, undone as one.
    """
    there = room.stage.state.fixtures
    remove = dict.fromkeys(wanted.remove)
    if (wanted.fixtures.keys() | remove.keys()) - there.keys():
        raise Problem(422, Said("One of the chosen fixtures does not exist any more."))
    if wanted.fixtures.keys() & remove.keys():
        raise Problem(422, Said("A fixture is changed or taken out, not both."))
    put = [changed(there[fixture], fields) for fixture, fields in wanted.fixtures.items()]
    put += map(_new, wanted.add)
    await _put(room, asker.id, tuple(put), even_so, tuple(remove))
    return [patch_view(fixture) for fixture in put]


@router.patch("/fixtures/{fixture}")
async def change(
    fixture: str, wanted: FixtureChange, asker: Asker, room: RoomOf, even_so: bool = False
) -> dict[str, Any]:
    """Change some of a fixture's fields."""
    after = changed(_known(room, fixture), wanted)
    await _put(room, asker.id, (after,), even_so)
    return patch_view(after)


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
    found = (room.library.get(key) for key in sorted(new))
    return tuple(profile for profile in found if profile is not None)


def changed(before: Fixture, wanted: FixtureChange) -> Fixture:
    """The fixture with those of its fields that are named."""
    return replace(before, **_fields(wanted, only_given=True))


def _new(wanted: NewFixture) -> Fixture:
    return Fixture(id=uuid.uuid4().hex[:8], **_fields(wanted, only_given=False))


def _fields(wanted: FixtureChange, only_given: bool) -> dict[str, Any]:
    fields = wanted.model_dump(exclude_unset=only_given, exclude={"id"})
    if "starts" in fields:
        fields["starts"] = tuple(Start(**start.model_dump()) for start in wanted.starts)
    if wanted.placed:
        rotation = tuple(wanted.placed.rotation)
        fields["placed"] = Placed(**wanted.placed.model_dump() | {"rotation": rotation})
    return fields


def _known(room: Room, fixture: str) -> Fixture:
    known = room.stage.state.fixtures.get(fixture)
    if known is None:
        raise Problem(404, Said("There is no such fixture any more."))
    return known


async def _put(
    room: Room, person: str, put: tuple[Fixture, ...], even_so: bool, remove: tuple[str, ...] = ()
) -> None:
    new = await run_in_threadpool(profiles_for, room, {fixture.profile for fixture in put})
    done = await room.do(ChangePatch(person, put, remove, new, even_so))
    if isinstance(done, Refused):
        raise refusal(done)
