"""Looks, the baseline, the focus order and the lead's settings, over HTTP."""

import time
import uuid
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from server.api.console_look import heard_here, kept_of
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.view import look_view
from server.rig.said import Said
from server.stage import commands
from server.stage.commands import Command
from server.stage.holds import Refused
from server.stage.looks import in_hand, values_that_differ
from server.stage.state import Look, Settings

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["looks"])


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class NewLook(_Body):
    """What is on stage, kept under a name. fixtures: ids, or none for the whole rig.

    from: `console`: what consoles show is kept instead, of all that lies on universes where one is heard, or
    on these; whether we follow it there or not.
    """

    model_config = ConfigDict(extra="forbid", strict=True, serialize_by_alias=True)

    name: str
    fixtures: list[str] | None = None
    source: Literal["stage", "console"] = Field("stage", alias="from")
    universes: list[int] | None = None


class LookChange(_Body):
    """Another name, or (replace) what is on stage instead of what was kept."""

    name: str | None = None
    replace: bool = False


class Recall(_Body):
    """How long a look takes to come up."""

    fade_s: Annotated[float, Field(ge=0)] = 2.0


class Baseline(_Body):
    """The look everything falls back to; none for home."""

    look: str | None


class Order(_Body):
    """Fixture ids in the order they are focused."""

    order: list[str]


@router.get("/looks")
async def looks(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """All looks, with which of them is the baseline."""
    state = room.stage.state
    return [{"id": k, **look_view(state, k), "baseline": k == state.baseline} for k in state.looks]


@router.post("/looks", status_code=201)
async def save(wanted: NewLook, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Keep what is on stage, or what consoles show."""
    chosen = None if wanted.fixtures is None else tuple(wanted.fixtures)
    shown = _shown(room, wanted.universes) if wanted.source == "console" else None
    return await _save(room, commands.SaveLook(asker.id, _new_id(), wanted.name, chosen, shown=shown))


@router.get("/looks/console")
async def console(asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """What keeping what consoles show would take: by universe, who is heard, and which fixtures."""
    state, rig, now = room.stage.state, room.engine.rig, time.monotonic()
    return [
        {
            "universe": universe,
            "names": room.sources.names(universe, now),
            "fixtures": list(kept_of(state, rig, {universe: shown})),
        }
        for universe, shown in heard_here(room).items()
    ]


def _shown(room: Room, universes: list[int] | None) -> Mapping[str, Mapping[str, int]]:
    heard = heard_here(room, universes)
    if missing := sorted(set(universes or ()) - heard.keys()):
        numbers = ", ".join(map(str, missing[:8]))
        raise Problem(409, Said("No console is heard on universe {universes}.", universes=numbers))
    if not heard:
        raise Problem(409, Said("No console is heard on any universe of the show."))
    return kept_of(room.stage.state, room.engine.rig, heard)


@router.put("/looks/baseline")
async def set_baseline(asker: Asker, room: RoomOf, wanted: Baseline | None = None) -> dict[str, Any]:
    """Choose the baseline; without a body, keep what is on stage as the baseline."""
    if wanted is None:
        return await _save(room, commands.SaveLook(asker.id, _new_id(), "Baseline", baseline=True))
    await _do(room, commands.SetBaseline(asker.id, wanted.look))
    return {"look": wanted.look}


@router.patch("/looks/{look}")
async def change(look: str, wanted: LookChange, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Rename a look, or keep what is on stage in it."""
    kept = _known(room, look)
    if wanted.replace:
        chosen = tuple(f for f in kept.values if f in room.stage.state.fixtures)
        return await _save(room, commands.SaveLook(asker.id, look, wanted.name or kept.name, chosen))
    await _do(room, commands.RenameLook(asker.id, look, wanted.name or ""))
    return {"id": look, **look_view(room.stage.state, look)}


class _Kept(_Body):
    """What was shown before: raw values by fixture id and control key."""

    wanted: dict[str, dict[str, int]] | None = None


@router.get("/looks/{look}/hand")
async def difference(look: str, asker: Asker, room: RoomOf) -> list[dict[str, Any]]:
    """What keeping what one has in hand would change in a look: control by control, raw; was: null: none."""
    kept, state = _known(room, look).values, room.stage.state
    now = in_hand(state, look, asker.id)
    return [
        {"fixture": fixture, "control": key, "was": kept.get(fixture, {}).get(key), "now": raw}
        for fixture, values in values_that_differ(kept, now).items()
        for key, raw in values.items()
    ]


@router.post("/looks/{look}/hand")
async def update(look: str, asker: Asker, room: RoomOf, shown: _Kept | None = None) -> dict[str, Any]:
    """Keep what one has in hand in a look; `wanted`: only if that is still what was shown."""
    _known(room, look)
    await _do(room, commands.UpdateLook(asker.id, look, shown.wanted if shown else None))
    return {"id": look, **look_view(room.stage.state, look)}


@router.delete("/looks/{look}", status_code=204)
async def delete(look: str, asker: Asker, room: RoomOf) -> None:
    """Forget a look."""
    _known(room, look)
    await _do(room, commands.DeleteLook(asker.id, look))


@router.post("/looks/{look}/recall")
async def recall(look: str, asker: Asker, room: RoomOf, wanted: Recall | None = None) -> dict[str, Any]:
    """Bring a look up, under whatever people hold."""
    _known(room, look)
    fade = (wanted or Recall()).fade_s
    return {"rev": await _do(room, commands.RecallLook(asker.id, look, fade))}


@router.put("/order")
async def set_order(wanted: Order, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Set the focus order."""
    await _do(room, commands.SetOrder(asker.id, tuple(wanted.order)))
    return {"order": wanted.order}


class SettingsChange(_Body):
    """Some of the lead's settings, by name; stage.decide_show.LIMITS has their ranges."""

    light_up_s: float | None = None
    light_up_level: float | None = None
    let_go_s: float | None = None


@router.patch("/settings")
async def change_settings(wanted: SettingsChange, asker: Asker, room: RoomOf) -> dict[str, float]:
    """Change what the lead sets for everybody."""
    await _do(room, commands.ChangeSettings(asker.id, wanted.model_dump(exclude_none=True)))
    now: Settings = room.stage.state.settings
    return {name: getattr(now, name) for name in now.__slots__}


def _known(room: Room, look: str) -> Look:
    known = room.stage.state.looks.get(look)
    if known is None:
        raise Problem(404, Said("There is no such look any more."))
    return known


def _new_id() -> str:
    # A name of digits alone would come before all others on the page, whose objects sort such keys.
    return f"l{uuid.uuid4().hex[:8]}"


async def _save(room: Room, command: commands.SaveLook) -> dict[str, Any]:
    await _do(room, command)
    return {"id": command.look, **look_view(room.stage.state, command.look)}


async def _do(room: Room, command: Command) -> int:
    done = await room.do(command)
    if isinstance(done, Refused):
        raise refusal(done)
    return done
