"""Where universes go, as the calls about it answer."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from server.api.move_view import said_move
from server.api.room import Room
from server.api.view import said_view
from server.engine.routing import Routing
from server.rig.said import Said
from server.stage.decide_outputs import OnWire, on_the_wire, shares_places
from server.stage.outputs import MOST_HZ, NO_ROUTE, Output, number_on_wire, outputs_of
from server.stage.told_outputs import spoken_output

__all__ = ["output_view", "outputs_view", "universe_view"]


def outputs_view(room: Room) -> dict[str, Any]:
    """As `OutputsAnswer` says."""
    routing, state = room.routing(), room.stage.state
    known = sorted({*room.engine.rig.universes, *state.routes})
    sent = on_the_wire(state, room.stage.rules)
    return {
        "interfaces": [
            {"address": way.address, "name": way.name, "main": way.address == routing.interface}
            for way in routing.ways
        ],
        "priority": routing.priority,
        "offset": routing.artnet_offset,
        "usual": [asdict(output) for output in routing.usual],
        "sync": asdict(state.sync),
        "usual_pause_ms": round(routing.sync_pause_s * 1000, 3),
        "findings": [said_view(said) for said in _about_all(room, routing)],
        "universes": [universe_view(room, universe, sent) for universe in known],
    }


def universe_view(room: Room, universe: int, sent: OnWire | None = None) -> dict[str, Any]:
    """As `UniverseOutputs` says. sent: what all universes are on the wire, where that is known already."""
    routing, routes = room.routing(), room.stage.state.routes
    route = routes.get(universe, NO_ROUTE)
    outputs = outputs_of(routes, universe, routing.usual)
    sent = on_the_wire(room.stage.state, room.stage.rules) if sent is None else sent
    return {
        "universe": universe,
        "own": bool(route.outputs),
        "steady": universe in routing.steady if route.steady is None else route.steady,
        "own_steady": route.steady,
        "frames_per_s": room.frames_per_s.get(universe, 0.0),
        "outputs": [output_view(room, output, universe) for output in outputs],
        "findings": [said_view(said) for said in _about(room, sent, universe, outputs)],
    }


def output_view(room: Room, output: Output, universe: int) -> dict[str, Any]:
    """As `OutputAnswer` says."""
    routing = room.routing()
    told = spoken_output(output, universe, routing.artnet_offset, routing.priority)
    number = number_on_wire(output, universe, routing.artnet_offset)
    return {**asdict(output), "on_wire": number, **said_view(told)}


def _about(room: Room, sent: OnWire, universe: int, outputs: tuple[Output, ...]) -> Iterator[Said]:
    """What is to be said of where one universe goes."""
    routing = room.routing()
    if (move := said_move(room, universe)) is not None:
        yield move
    here = {way.address for way in routing.ways}
    for output in outputs:
        if output.interface and output.interface not in here:
            yield Said(
                "The network with the address {interface} is not there: nothing leaves by it meanwhile.",
                interface=output.interface,
            )
    if any(output.to == "broadcast" for output in outputs):
        yield Said(
            "Broadcast reaches every machine on that network, at every change. Art-Net asks for it never."
        )
    for other, there in shares_places(sent, universe, outputs, room.stage.rules):
        yield Said(
            "Universe {other} goes to the same place, as {number}: what has no outputs of its own gives way.",
            other=other,
            number=there,
        )
    for output in outputs:
        number = number_on_wire(output, universe, routing.artnet_offset)
        if output.to == "nodes" and number is not None and not _served(room, number):
            yield Said(
                "No node that answers serves Art-Net {number} now: nothing leaves by Art-Net there.",
                number=number,
            )


def _served(room: Room, port_address: int) -> bool:
    return bool(room.nodes and room.nodes.subscribers(port_address))


def _about_all(room: Room, routing: Routing) -> Iterator[Said]:
    """What is to be said of all of it."""
    state = room.stage.state
    if not state.sync.sacn and not state.sync.artnet:
        return
    all_outputs = (
        output
        for universe in room.engine.rig.universes
        for output in outputs_of(state.routes, universe, routing.usual)
    )
    slowest = min((output.most_hz for output in all_outputs), default=MOST_HZ)
    if slowest < MOST_HZ:
        yield Said(
            "Synchronised, all universes leave at one pace: that of the slowest output, {hz} times a second.",
            hz=slowest,
        )
    levels = on_the_wire(state, room.stage.rules).get(("sacn", state.sync.sacn), ())
    if levels:
        yield Said(
            "Synchronisation goes on sACN {number}, which carries the levels of universe {universe}, too: "
            "choose a number that nothing uses.",
            number=state.sync.sacn,
            universe=levels[0][0],
        )
    yield Said(
        "Receivers that know synchronisation wait for it, others show each universe as it comes. Whether "
        "they know it is in their manuals."
    )
