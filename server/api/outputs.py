"""Where each universe goes, over HTTP: seen by everybody, edited by the lead while all goes on."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path
from pydantic import BaseModel, ConfigDict, Field

from server.api.move_view import said_new
from server.api.outputs_view import output_view, outputs_view, universe_view
from server.api.people import Asker, RoomOf
from server.api.problems import refusal
from server.api.room import Room
from server.api.view import said_view
from server.stage.commands_outputs import SetRoute, SetSync
from server.stage.decide import decide
from server.stage.holds import Refused
from server.stage.outputs import MOST_HZ, Output, Route, Sync, outputs_of

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["outputs"])
Universe = Annotated[int, Path(ge=1, le=63999)]


class OneOutput(BaseModel):
    """See stage.outputs.Output. interface: an IPv4 address of ours; that of the main one is "", too."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    by: Literal["sacn", "artnet"]
    to: Literal["multicast", "multicast6", "host", "nodes", "broadcast"]
    host: Annotated[str, Field(max_length=40)] = ""
    port: int | None = None
    name: Annotated[str, Field(max_length=80)] = ""
    priority: int | None = None
    number: int | None = None
    interface: Annotated[str, Field(max_length=40)] = ""
    most_hz: Annotated[float, Field(strict=False)] = MOST_HZ

    def output(self, main: str | None) -> Output:
        """As the stage takes it: what does not belong to its kind is left out."""
        host = self.host.strip() if self.to == "host" else ""
        priority = self.priority if self.by == "sacn" else None
        port = self.port if self.to == "host" else None
        interface = "" if self.interface == main else self.interface
        name = " ".join(self.name.split())
        return Output(self.by, self.to, host, port, name, priority, self.number, interface, self.most_hz)


class Wanted(BaseModel):
    """outputs: none, and it goes as the command line says. steady: null is what the settings say."""

    model_config = ConfigDict(extra="forbid", strict=True)

    outputs: Annotated[list[OneOutput], Field(max_length=64)]
    steady: bool | None = None


class WantedSync(BaseModel):
    """sacn: the universe that synchronisation is sent on, 0 for none. artnet: whether ArtSync is sent.

    pause_ms: milliseconds before either of them, 0 to 10; null is what the settings say.
    """

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    sacn: int
    artnet: bool
    pause_ms: float | None = None


@router.get("/outputs")
async def outputs(asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Every universe with where it goes, how often it leaves, and what is to be said of that."""
    return outputs_view(room)


@router.put("/outputs/sync")
async def set_sync(wanted: WantedSync, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Let receivers show all universes at one moment, or not."""
    done = await room.do(SetSync(asker.id, Sync(wanted.sacn, wanted.artnet, wanted.pause_ms)))
    if isinstance(done, Refused):
        raise refusal(done)
    return outputs_view(room)


@router.put("/outputs/{universe}")
async def set_outputs(universe: Universe, wanted: Wanted, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """Let a universe go there from now on; other universes go on meanwhile."""
    done = await room.do(_command(room, asker.id, universe, wanted))
    if isinstance(done, Refused):
        raise refusal(done)
    return universe_view(room, universe)


@router.post("/outputs/{universe}/check")
async def check_outputs(universe: Universe, wanted: Wanted, asker: Asker, room: RoomOf) -> dict[str, Any]:
    """What that would begin, end and leave as it is; refused as the change itself would be."""
    command = _command(room, asker.id, universe, wanted)
    answer = decide(room.stage.state, command, 0.0, room.stage.rules)
    if isinstance(answer, Refused):
        raise refusal(answer)
    routing, routes = room.routing(), room.stage.state.routes
    now = outputs_of(routes, universe, routing.usual)
    then = command.route.outputs if command.route and command.route.outputs else routing.usual

    listens = said_new(room, universe, command.route) if answer else None

    def told(which: list[Output]) -> list[dict[str, Any]]:
        return [output_view(room, output, universe) for output in which]

    return {
        "changes": bool(answer),
        "listens": said_view(listens) if listens else None,
        "begins": told([output for output in then if output not in now]),
        "ends": told([output for output in now if output not in then]),
        "stays": told([output for output in then if output in now]),
    }


def _command(room: Room, person: str, universe: int, wanted: Wanted) -> SetRoute:
    routing = room.routing()
    outputs = tuple(one.output(routing.interface) for one in wanted.outputs)
    return SetRoute(
        person, universe, Route(outputs, wanted.steady), routing.ways, routing.interface is not None
    )
