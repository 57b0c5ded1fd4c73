"""The whole show as one file: out, and in with a report first."""

import re
import sqlite3
import time
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError
from starlette.concurrency import run_in_threadpool

from server.api.fixtures import NewFixture
from server.api.people import Asker, RoomOf
from server.api.problems import Problem, refusal
from server.api.room import Room
from server.api.uploads import body_or_file
from server.api.view import patch_view, said_view
from server.journal.photos import kept_all, read_photos
from server.journal.show_file import ShowFileError, reading
from server.journal.travel import SUFFIX, pack, unpack, unpack_photos
from server.paperwork.photo import PhotoError, plain_photo
from server.paperwork.problems import FileError
from server.paperwork.profiles import profile_from_json, profile_to_json
from server.rig.patch import Fixture, spoken
from server.rig.profile import Profile
from server.rig.said import Said
from server.stage.carried import Carried, Vetted, carried
from server.stage.commands import ReplaceShow
from server.stage.decide import Answer, Rules, allow, decide
from server.stage.decide_replace import vet
from server.stage.holds import Refused

__all__ = ["router"]

LONGEST_FILE = 64 * 1024 * 1024  # hundreds of looks of a rig of hundreds of fixtures; read whole into memory
LONGEST_ID = 64
MOST_TURNED = 64  # controls of one unit that count the other way

router = APIRouter(prefix="/api/show", tags=["show"])


@router.get("/export")
async def export(asker: Asker, room: RoomOf) -> Response:
    """The show as one file: all but who may come in, and what is in anybody's hand."""
    _lead_only(room, asker.id)
    state = room.stage.state
    photos = await run_in_threadpool(_photos_of, room.journal.path, tuple(state.photos))
    data = await run_in_threadpool(pack, carried(state), tuple(state.people.values()), photos)
    if len(data) > LONGEST_FILE:
        raise Problem(422, _too_large())
    name = _file_name(state.show.name, datetime.now().astimezone())
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(data, media_type="application/octet-stream", headers=headers)


@router.post("/import")
async def bring_in(request: Request, asker: Asker, room: RoomOf, check: bool = False) -> dict[str, Any]:
    """Take the show in the file in place of this one; with ?check=true only say what it holds and replaces.

    People stay those of this laptop, everything in anybody's hand is let go, and a copy of the show as it was
    lies in the folder backups.
    """
    _lead_only(room, asker.id)
    data = await body_or_file(request, LONGEST_FILE)
    try:
        read = await run_in_threadpool(_read, data, room.stage.rules)
    except ShowFileError as wrong:
        raise Problem(422, wrong.args[0]) from wrong
    report = read.report(carried(room.stage.state))
    answer: Vetted | Answer = read.vetted
    if isinstance(answer, Vetted):
        wanted = ReplaceShow(asker.id, answer)
        answer = decide(room.stage.state, wanted, time.time(), room.stage.rules)
    problems = [{"where": "", **said_view(answer.why)}] if isinstance(answer, Refused) else []
    if check:
        return {**report, "problems": problems}
    if isinstance(answer, Refused):
        raise refusal(answer)
    try:
        await run_in_threadpool(room.journal.copy_aside, datetime.now().astimezone())
    except (OSError, sqlite3.Error) as wrong:
        raise Problem(
            422,
            Said(
                "Nothing was changed: the present show could not be copied first ({why}). Free some space.",
                why=str(wrong),
            ),
        ) from wrong
    done = await room.do(wanted, kept_all(read.photos))
    if isinstance(done, Refused):
        raise refusal(done)
    for profile in read.brought.profiles.values():
        room.library = room.library.with_added(profile)
    room.journal.snapshot_if_due(room.stage.state, every=1)  # so that the next start need not read it twice
    return {**report, "problems": []}


@dataclass(frozen=True, slots=True)
class _Read:
    """What a file brings, whether that may come in here, how many people it names, and what is left out."""

    brought: Carried
    vetted: Vetted | Refused
    people: int
    left_out: int
    photos: dict[str, bytes]

    def report(self, present: Carried) -> dict[str, Any]:
        """As the import call answers. left_out: values of looks that would flash or set something off."""
        holds = {**_contents(self.brought), "people": self.people}
        return {"holds": holds, "replaces": _contents(present), "left_out": self.left_out}


def _contents(show: Carried) -> dict[str, Any]:
    counted = ("fixtures", "profiles", "looks", "faults", "photos")
    return {
        "name": show.show.name,
        "venue": show.show.venue,
        **{name: len(getattr(show, name)) for name in counted},
    }


def _read(data: bytes, rules: Rules) -> _Read:
    """The show in the file, whose parts are right each by itself. Raises ShowFileError. Takes seconds."""
    state = unpack(data)
    photos = _right_photos(unpack_photos(data, state))
    brought = carried(state)
    brought = replace(
        brought, photos={key: replace(brought.photos[key], octets=len(body)) for key, body in photos.items()}
    )
    for profile in brought.profiles.values():
        _check_profile(profile)
    for fixture in brought.fixtures.values():
        _check_fixture(fixture)
    vetted = vet(brought, rules)
    kept = vetted.brought if isinstance(vetted, Vetted) else brought
    return _Read(brought, vetted, len(state.people), _values(brought) - _values(kept), photos)


def _photos_of(show: Path, names: tuple[str, ...]) -> dict[str, bytes]:
    with reading(show) as file:
        return read_photos(file, names)


def _right_photos(photos: dict[str, bytes]) -> dict[str, bytes]:
    """Those that could have been kept here, as they would have been."""
    found = {}
    for name, body in photos.items():
        with suppress(PhotoError):
            found[name] = plain_photo(body)
    return found


def _values(show: Carried) -> int:
    return sum(len(raws) for look in show.looks.values() for raws in look.values.values())


def _check_profile(profile: Profile) -> None:
    """It has to be one that could have been added here."""
    try:
        if profile_from_json(profile_to_json(profile)) == profile:
            return
        why = "it does not fit together"
    except FileError as wrong:
        why = str(wrong.problems[0])
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        why = "it cannot be read"
    raise ShowFileError(
        Said("The profile {name} in it cannot be used: {why}.", name=profile.name[:60], why=why)
    )


def _check_fixture(fixture: Fixture) -> None:
    """Its fields have to be such as could have been given here."""
    given = patch_view(fixture)
    name = given.pop("id")
    try:
        NewFixture.model_validate(given)
    except ValidationError as wrong:
        first = wrong.errors()[0]
        why = f"{'.'.join(map(str, first['loc']))}: {first['msg']}"
        raise ShowFileError(
            Said("A fixture in it cannot be used ({unit}): {why}.", unit=spoken(fixture)[:120], why=why)
        ) from wrong
    if not 1 <= len(str(name)) <= LONGEST_ID or len(fixture.inverted) > MOST_TURNED:
        raise ShowFileError(Said("A fixture in it cannot be used ({unit}).", unit=spoken(fixture)[:120]))


def _lead_only(room: Room, person: str) -> None:
    if refused := allow(room.stage.state, person, "lead"):
        raise refusal(refused)


def _too_large() -> Said:
    return Said(
        "This show is larger than the {most} MiB that can be brought in again. Delete looks first.",
        most=LONGEST_FILE // 1024 // 1024,
    )


def _file_name(show: str, now: datetime) -> str:
    plain = "-".join(re.findall(r"[A-Za-z0-9]+", show))[:40] or "show"
    return f"{plain}-{now:%Y%m%d-%H%M}{SUFFIX}"
