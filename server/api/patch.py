"""What is wrong with the patch, what would be wrong with another, and addresses for what has none."""

import re
from collections.abc import Iterable, Mapping
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool

from server.api.fixtures import FixtureChange, Id, changed, profiles_for
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.view import patch_view, said_view
from server.rig.check import Finding, Patch
from server.rig.patch import Fixture, spoken
from server.rig.plan import PlanRules, by_hanging, plan
from server.rig.profile import Profile
from server.rig.said import Said
from server.rig.stretches import stretches
from server.rig.universe import SLOTS, UNIVERSE_LAST, OffLimits, Reserved
from server.stage.decide import allow
from server.stage.decide_patch import MOST_FIXTURES

__all__ = ["router"]

router = APIRouter(prefix="/api/patch", tags=["patch"])

ADDRESSES = ("universe", "address", "starts")


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class Proposed(FixtureChange):
    """A fixture as it would become: with the id of one that is there, or a new one."""

    id: Id | None = None


class Proposal(_Body):
    """A change of the patch to look at: fixtures to put, and ids of those to take out."""

    put: Annotated[list[Proposed], Field(max_length=MOST_FIXTURES)] = []
    remove: Annotated[list[Id], Field(max_length=MOST_FIXTURES)] = []


class Rules(_Body):
    """gap: slots left free behind each. together: no position over two universes if it fits in one."""

    gap: Annotated[int, Field(ge=0, lt=SLOTS)] = 0
    together: bool = True


class Wanted(_Body):
    """Which fixtures to address, by id, in this order; null: all that have no address, as they hang.

    start: universe.address to begin at.
    """

    fixtures: Annotated[list[Id], Field(max_length=MOST_FIXTURES)] | None = None
    start: Annotated[str, Field(max_length=20, alias="from")] = "1.1"
    rules: Rules = Rules()


@router.get("/problems")
async def problems(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """Everything to be said about the patch as it is: what must not be, and what may be meant."""
    there, profiles = await _present(room)
    patch = Patch((), profiles, room.stage.rules.off_limits, room.stage.rules.reserved)
    return await run_in_threadpool(lambda: [_view(f) for f in _all(patch, there, even_so=True)])


@router.post("/check")
async def check(wanted: Proposal, asker: Asker, room: RoomOf, even_so: bool = False) -> list[dict[str, Any]]:
    """What there is to be said about these fixtures once they are put and removed so. Nothing is changed.

    `put` tells which of them it is about. As when it is done, a unit of a number that is there twice already
    may stay so.
    """
    _lead_only(room, asker.id)
    there, profiles = await _present(room, {w.profile for w in wanted.put if w.profile})
    known = {f.id: f for f in there}
    put = [changed(known.get(w.id or "", _new(at)), w) for at, w in enumerate(wanted.put)]
    at = {f.id: n for n, f in enumerate(put)}
    gone = at.keys() | set(wanted.remove)
    rest = [f for f in there if f.id not in gone]

    def look() -> list[dict[str, Any]]:
        patch = Patch(rest, profiles, room.stage.rules.off_limits, room.stage.rules.reserved)
        found = _all(patch, put, even_so, known)
        return [_view(each, known) | {"put": at[each.fixture.id]} for each in found]

    return await run_in_threadpool(look)


@router.post("/plan")
async def propose(wanted: Wanted, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Addresses for these fixtures, from there on. Nothing is changed: PATCH /api/fixtures does it."""
    _lead_only(room, asker.id)
    there, profiles = await _present(room)
    start = _start(wanted.start)
    if wanted.fixtures is None:
        chosen = by_hanging(f for f in there if not f.universes)
    else:
        known = {f.id: f for f in there}
        if any(f not in known for f in wanted.fixtures):
            raise Problem(422, Said("One of the chosen fixtures does not exist any more."))
        chosen = [known[f] for f in dict.fromkeys(wanted.fixtures)]
    moved = {f.id for f in chosen}
    rest = [f for f in there if f.id not in moved]
    kept: list[OffLimits | Reserved] = [*room.stage.rules.off_limits, *room.stage.rules.reserved]
    rules = PlanRules(wanted.rules.gap, wanted.rules.together)
    placed, left = await run_in_threadpool(plan, chosen, rest, profiles, kept, start, rules)
    pictures = [
        {
            "universe": universe,
            "ranges": [
                {"first": s.first, "last": s.last, "what": s.what, "why": s.why, "fixture": s.fixture}
                for s in stretches(universe, placed, rest, profiles, kept)
            ],
        }
        for universe in sorted({universe for f in placed for universe in f.universes})
    ]
    return {
        "placed": [{"fixture": f.id, **{n: patch_view(f)[n] for n in ADDRESSES}} for f in placed],
        "left": [{"fixture": f.id, "where": spoken(f)} for f in left],
        "universes": pictures,
    }


def _lead_only(room: Room, person: str) -> None:
    if refused := allow(room.stage.state, person, "lead"):
        raise refusal(refused)


async def _present(
    room: Room, more: frozenset[str] | set[str] = frozenset()
) -> tuple[tuple[Fixture, ...], dict[str, Profile]]:
    """Fixtures as they are now and the profiles to look at them with. more: keys that may be on the shelf."""
    new = await run_in_threadpool(profiles_for, room, set(more))
    state = room.stage.state
    profiles = {**room.library.at_hand, **{p.key: p for p in new}, **state.profiles}
    return tuple(state.fixtures.values()), profiles


def _new(at: int) -> Fixture:
    return Fixture(f"put {at}", None, "", "", "", "", "", None, None)


def _all(
    patch: Patch, fixtures: Iterable[Fixture], even_so: bool, before: Mapping[str, Fixture] = {}
) -> list[Finding]:
    """before: by id, as they hang now; whose place and number stay is not asked about them again."""
    found = []
    for fixture in fixtures:
        was = before.get(fixture.id)
        stays = was is not None and (was.position, was.unit) == (fixture.position, fixture.unit)
        found += patch.findings(fixture, even_so or stays)
        patch.add(fixture)
    return found


def _start(text: str) -> tuple[int, int]:
    told = re.fullmatch(r"([0-9]{1,5})[./:]([0-9]{1,3})", text)
    start = (int(told[1]), int(told[2])) if told else (0, 0)
    if not (1 <= start[0] <= UNIVERSE_LAST and 1 <= start[1] <= SLOTS):
        raise Problem(422, Said("Begin at universe.address, such as 3.101, not {given}.", given=text))
    return start


def _view(found: Finding, known: dict[str, Fixture] | None = None) -> dict[str, Any]:
    """fixture and other: null for one that is not there yet; suggestion: fields that would do, for PATCH."""

    def told(fixture: str | None) -> str | None:
        return fixture if known is None or fixture in known else None

    return {
        "fixture": told(found.fixture.id),
        "where": spoken(found.fixture),
        "kind": found.kind,
        "refused": found.refused,
        **said_view(found.why),
        "other": told(found.other),
        "suggestion": dict(found.instead) or None,
        "put": None,
    }
