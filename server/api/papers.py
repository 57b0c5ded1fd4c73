"""Papers and labels of the rig, as PDF."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool

from server.api.people import Asker, RoomOf
from server.api.problems import Problem
from server.api.room import Room
from server.paperwork.printed.rows import Job, ranges_of, rows, snapshot
from server.paperwork.printed.sheets import stock_of
from server.rig.patch import Fixture
from server.rig.said import Said
from server.stage.state import Person

__all__ = ["router"]

Name = Literal["hookup", "schedule", "addresses", "focus", "focus-blank", "faults"]
Size = Literal["a4", "letter"]
Language = Literal["en", "de"]
StockName = Literal["a4-24", "a4-21", "letter-30", "roll"]
LONGEST_ID = 64
MOST_CHOSEN = 2000

router = APIRouter(prefix="/api/papers", tags=["papers"])


@router.get("/labels.pdf")
async def labels(
    request: Request,
    asker: Asker,
    room: RoomOf,
    stock: StockName = "a4-24",
    width: Annotated[float, Query(ge=20, le=300)] = 62.0,
    height: Annotated[float, Query(ge=12, le=300)] = 40.0,
    skip: Annotated[int, Query(ge=0, le=100)] = 0,
    position: Annotated[str | None, Query(max_length=200)] = None,
    fixture: Annotated[list[Annotated[str, Query(max_length=LONGEST_ID)]] | None, Query()] = None,
    language: Language = "en",
) -> Response:
    """Labels for all fixtures, those at a position, or chosen ones, in the order in which they hang.

    stock: a sheet of so many labels, or a roll, whose labels have that width and height in mm. skip: labels
    of the first sheet that are used up.
    """
    each = stock_of(stock, width, height).each
    if skip >= each:
        raise Problem(422, Said("A sheet of these has {each} labels: leave out fewer.", each=each))
    chosen = None if fixture is None else frozenset(fixture)
    if chosen is not None and len(chosen) > MOST_CHOSEN:
        raise Problem(422, Said("Choose {most} fixtures at most, or all of them.", most=MOST_CHOSEN))

    def wanted(one: Fixture) -> bool:
        return (chosen is None or one.id in chosen) and position in (None, one.position)

    known = _seen_by(asker)
    fixtures = room.stage.state.fixtures
    if chosen is not None and not all(i in fixtures and known(fixtures[i]) for i in chosen):
        raise Problem(422, Said("One of the chosen fixtures does not exist any more."))
    page = _page(room, request)
    job = await _job(room, "labels", "a4", language, lambda one: known(one) and wanted(one))
    job = replace(job, stock=stock, width=width, height=height, skip=skip, page=page)
    if not job.units:
        raise Problem(422, Said("There is no fixture to make a label for."))
    return _file("labels", await room.press.draw(job))


@router.get("/{name}.pdf")
async def paper(
    name: Name, asker: Asker, room: RoomOf, size: Size = "a4", language: Language = "en"
) -> Response:
    """One of the papers: of the whole rig, or of the house's own fixtures for house staff."""
    job = await _job(room, name, size, language, _seen_by(asker))
    return _file(name, await room.press.draw(job))


async def _job(room: Room, name: str, size: str, language: str, wanted: Callable[[Fixture], bool]) -> Job:
    state = snapshot(room.stage.state)
    printed = datetime.now().astimezone().strftime("%Y-%m-%d %H:%M")
    units = await run_in_threadpool(rows, state, wanted, name == "focus")
    rules, show = room.stage.rules, state.show
    kept = ranges_of(rules.off_limits), ranges_of(rules.reserved)
    return Job(name, size, language, show.name, show.venue, printed, units, *kept)


def _seen_by(person: Person) -> Callable[[Fixture], bool]:
    return lambda fixture: fixture.house or person.role != "house"


def _page(room: Room, request: Request) -> str:
    """Where phones find the page: by address, as some phones and networks know no .local names."""
    if room.laptop.addresses:
        return f"{room.laptop.addresses[0]}:{room.laptop.port}"
    return request.headers.get("host", f"127.0.0.1:{room.laptop.port}")


def _file(name: str, data: bytes) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)
