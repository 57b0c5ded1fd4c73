"""Builds the application around a running show, and serves it."""

import asyncio
import contextlib
import gc
import logging
import signal
import sys
from collections.abc import AsyncIterator, Callable
from functools import partial
from typing import Any

import uvicorn
from fastapi import FastAPI

from server import __version__
from server.api import (
    beside,
    changes,
    check,
    draft,
    explain,
    faults,
    fixtures,
    focus,
    handover,
    library,
    live,
    looks,
    nodes,
    outputs,
    papers,
    patch,
    people,
    photos,
    problems,
    profiles,
    record,
    rig,
    show,
    sources,
    teach,
    universes,
)
from server.api.door import Door
from server.api.messages import LONGEST
from server.api.origin import names_here
from server.api.pages import pages
from server.api.people import Asker
from server.api.pins import pins_at_start
from server.api.sockets import MOST, PING_S, Http, Live
from server.api.uploads import ShortBodies
from server.ending import Ending
from server.journal.show_file import ShowFileError
from server.output.link import OutputBusy, OutputFailed
from server.parts import Parts
from server.places import web_folder
from server.settings import Settings
from server.stage.near import names
from server.stage.state import ROLES, Role

__all__ = ["build", "serve"]

log = logging.getLogger(__name__)


def build(parts: Parts) -> FastAPI:
    """The application around running parts."""

    @contextlib.asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        parts.begin()
        running = asyncio.create_task(parts.run())
        running.add_done_callback(partial(_stop_if_broken, parts))
        try:
            yield
        finally:
            app.state.broken = broken = running.done()
            running.cancel()
            with contextlib.suppress(asyncio.CancelledError, ExceptionGroup):
                await running
            parts.close(streams_too=not (broken or app.state.keep()))

    app = FastAPI(title="focuscall", version=__version__, lifespan=lifespan, openapi_url=None)
    app.state.room, app.state.broken, app.state.keep = parts.room, False, lambda: False
    app.add_middleware(ShortBodies)
    problems.install(app)
    routes = (
        people,
        changes,
        check,
        explain,
        faults,
        record,
        fixtures,
        patch,
        focus,
        handover,
        looks,
        library,
        draft,
        profiles,
        rig,
        show,
        papers,
        photos,
        teach,
        universes,
        nodes,
        outputs,
        sources,
        beside,
        live,
    )
    for part in routes:
        app.include_router(part.router)
    app.include_router(pages(web_folder()))

    @app.get("/openapi.json", include_in_schema=False)
    async def openapi(asker: Asker) -> dict[str, Any]:
        from server.api.described import described  # a hundred shapes, and nearly nobody asks

        return described(app)

    return app


def _stop_if_broken(parts: Parts, running: asyncio.Task[None]) -> None:
    """A server whose engine has died must not look alive. The light stays: the output process goes on."""
    if not running.cancelled() and running.exception() is not None:
        parts.broken = True
        log.critical("the server stops; levels stay as they are", exc_info=running.exception())
        signal.raise_signal(signal.SIGINT)


def serve(settings: Settings, given: dict[Role, str], greet: Callable[[dict[Role, str | None]], None]) -> int:
    """Serve until Ctrl-C. Returns the exit code: 0, 1 if it broke, 2 with a sentence if it cannot start.

    given: PINs that the settings name, by role; emptied, so that from then on there are hashes only.
    greet: called with the PINs in force before anything is served; None: one that the lead has set.
    """
    try:
        parts = Parts(settings)
    except (OutputBusy, OutputFailed, ShowFileError, OSError) as why:
        print(f"focuscall: {why}", file=sys.stderr)
        return 2
    if settings.rig and (wrong := parts.read_rig(settings.rig)):
        print(f"focuscall: {settings.rig} was not read in. {wrong}", file=sys.stderr)
        parts.close()
        return 2
    set_by_lead = parts.room.stage.state.pins
    shown, parts.room.pins = pins_at_start(given, set_by_lead, draws=not settings.open_house)
    greet({role: shown.get(role) for role in ROLES if role in parts.room.pins.roles})
    given.clear()
    shown.clear()
    _take_files()
    for stop in (signal.SIGTERM, signal.SIGINT):
        signal.signal(stop, lambda *_: None)  # uvicorn raises it once more when all is down
    app = build(parts)
    config = uvicorn.Config(
        Door(app, names_here(settings.names)),
        host=settings.host,
        port=settings.port,
        http=Http,
        ws=Live,
        ws_max_size=32 * LONGEST,  # up to here it is refused in words, beyond it the socket is closed
        ws_ping_interval=PING_S,
        ws_ping_timeout=PING_S,
        ws_per_message_deflate=False,  # costs more than it saves on a LAN: DEVELOPERS.md, measured
        loop="asyncio",  # the one the tests run on, whatever else is installed
        log_level="warning",
        access_log=False,
        proxy_headers=False,  # nothing stands before it: whoever says so would guess PINs as somebody else
        server_header=False,
        timeout_graceful_shutdown=2,
    )
    state = parts.room.stage.state
    server = Ending(config, lambda: names(state, state.aloft), lambda: parts.broken)
    app.state.keep = lambda: server.keep
    gc.freeze()  # what is here by now stays: looking through it for waste held light up for 60 ms each time
    gc.enable()
    server.run()
    return int(app.state.broken)


def _take_files() -> None:
    """As many open files as a full house of phones needs: some systems begin with 256."""
    with contextlib.suppress(ImportError, OSError, ValueError):
        import resource  # not on Windows, which has no such limit

        now, most = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted = 2 * MOST if most == resource.RLIM_INFINITY else min(2 * MOST, most)
        if now != resource.RLIM_INFINITY and now < wanted:
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, most))
