"""The rules for where universes go."""

import ipaddress
from collections.abc import Iterable, Iterator

from server.rig.said import Said
from server.rig.universe import PORT_ADDRESS_LAST, UNIVERSE_LAST
from server.stage import commands_outputs as commands
from server.stage import events
from server.stage.decide import MOST_UNIVERSES, Answer, Rules, allow, answer
from server.stage.holds import Refused
from server.stage.outputs import (
    MOST_HZ,
    PORTS,
    TO,
    Output,
    Route,
    barred,
    number_on_wire,
    outputs_of,
    same_place,
)
from server.stage.state import State

__all__ = ["LONGEST_NAME", "MOST_OUTPUTS", "OnWire", "on_the_wire", "shares_places"]

OnWire = dict[tuple[str, int], list[tuple[int, Output]]]

MOST_OUTPUTS = 8  # of one universe: a node, its spare, two networks, and as many again
MOST_RATES = 3  # of one universe: what the output process can count apart (output.plan.MOST_RATES)
MOST_PAUSE_MS = 10  # as in the settings: the next frame may be due after 22 ms (output.plan.MOST_PAUSE_S)
MOST_PRIORITY = 200  # E1.31-2018, 6.2.3
LONGEST_NAME = 40


@answer.register
def _(command: commands.SetRoute, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    universe, route = command.universe, command.route
    if not 1 <= universe <= UNIVERSE_LAST:
        return Refused(
            Said("Universes go from 1 to {last}, not {universe}.", last=UNIVERSE_LAST, universe=universe)
        )
    if route == Route():
        route = None
    if universe not in state.routes and route is not None and len(state.routes) >= MOST_UNIVERSES:
        return Refused(
            Said("{most} universes have outputs of their own: take some back first.", most=MOST_UNIVERSES)
        )
    why = next(_wrong(command, route.outputs if route else (), state, rules), None)
    if why is not None:
        return Refused(why)
    if state.routes.get(universe) == route:
        return []
    return [events.RouteSet(command.person, universe, route)]


@answer.register
def _(command: commands.SetSync, state: State, now: float, rules: Rules) -> Answer:
    if refused := allow(state, command.person, "lead"):
        return refused
    if not 0 <= command.sync.sacn <= UNIVERSE_LAST:
        return Refused(
            Said(
                "Synchronisation is sent on a universe from 1 to {last}, not {universe}.",
                last=UNIVERSE_LAST,
                universe=command.sync.sacn,
            )
        )
    pause_ms = command.sync.pause_ms
    if pause_ms is not None and not 0 <= pause_ms <= MOST_PAUSE_MS:
        return Refused(
            Said(
                "The pause before synchronisation is 0 to {most} ms, not {pause}.",
                most=MOST_PAUSE_MS,
                pause=pause_ms,
            )
        )
    return [] if command.sync == state.sync else [events.SyncSet(command.person, command.sync)]


def on_the_wire(state: State, rules: Rules) -> OnWire:
    """All that is sent, or would be: by protocol and number there."""
    used = (
        {u for unit in state.fixtures.values() for u in unit.universes} | state.opened | state.routes.keys()
    )
    found: OnWire = {}
    for universe in sorted(used):
        for output in outputs_of(state.routes, universe, rules.usual):
            number = number_on_wire(output, universe, rules.offset)
            if number is not None:
                found.setdefault((output.by, number), []).append((universe, output))
    return found


def shares_places(
    sent: OnWire, universe: int, outputs: Iterable[Output], rules: Rules
) -> Iterator[tuple[int, int]]:
    """Which other universes could be heard as this one where it goes, and by what number there."""
    for output in outputs:
        number = number_on_wire(output, universe, rules.offset)
        if number is not None:
            for other, theirs in sent.get((output.by, number), ()):
                if other != universe and same_place(output, theirs):
                    yield other, number


def _wrong(
    command: commands.SetRoute, outputs: tuple[Output, ...], state: State, rules: Rules
) -> Iterator[Said]:
    """All that is wrong with it."""
    if len(outputs) > MOST_OUTPUTS:
        yield Said("A universe has up to {most} outputs.", most=MOST_OUTPUTS)
    for output in outputs:
        yield from _wrong_with(output)
        yield from _wrong_way(output, command)
        if limit := barred(output, command.universe, rules.offset, rules.off_limits):
            yield Said(
                "What goes by the number of universe {other} would come to slots that are off limits "
                "({reason}). Choose another number.",
                other=limit.universe,
                reason=limit.why,
            )
    places = [_place(output, command.universe, rules) for output in outputs]
    if len(set(places)) < len(places):
        yield Said("Two of these outputs go to one place.")
    if len({output.most_hz for output in outputs}) > MOST_RATES:
        yield Said("The outputs of a universe have up to {most} different rates.", most=MOST_RATES)
    for other, number in shares_places(on_the_wire(state, rules), command.universe, outputs, rules):
        yield Said(
            "Universe {other} goes there already, as {number}: two pictures in one place would flicker. "
            "Choose another number or another place, or let universe {other} go elsewhere first.",
            other=other,
            number=number,
        )


def _place(output: Output, universe: int, rules: Rules) -> tuple[str, str, str, int, int | None]:
    """Where it goes: the same, too, where what is usual is written out; a host is one by whichever way."""
    to = output.host if output.to == "host" else output.interface
    number = number_on_wire(output, universe, rules.offset)
    return output.by, output.to, to, output.port or PORTS[output.by], number


def _wrong_with(output: Output) -> Iterator[Said]:
    if output.to not in TO.get(output.by, ()):
        yield Said("There is no such kind of output.")
    if output.to == "host" and (why := _no_host(output.host)):
        yield why
    if output.port is not None and not 1 <= output.port <= 65535:
        yield Said("Port {port} is not 1 to 65535.", port=output.port)
    if output.priority is not None and not 0 <= output.priority <= MOST_PRIORITY:
        yield Said(
            "Priorities of sACN go from 0 to {most}, not {priority}.",
            most=MOST_PRIORITY,
            priority=output.priority,
        )
    if output.number is not None:
        first, last = (1, UNIVERSE_LAST) if output.by == "sacn" else (0, PORT_ADDRESS_LAST)
        if not first <= output.number <= last:
            yield (
                Said("Universes of sACN go from 1 to {last}, not {number}.", last=last, number=output.number)
                if output.by == "sacn"
                else Said(
                    "Port-Addresses go from 0 to {last}, not {number}.", last=last, number=output.number
                )
            )
    if not 1 <= output.most_hz <= MOST_HZ:
        yield Said("Levels leave 1 to {most} times a second, not {hz}.", most=MOST_HZ, hz=output.most_hz)
    if len(output.name) > LONGEST_NAME:
        yield Said("A name has up to {most} characters.", most=LONGEST_NAME)


def _no_host(host: str) -> Said | None:
    try:
        address = ipaddress.IPv4Address(host)
    except ValueError:
        return Said('Write an address like 10.0.0.21, not "{host}".', host=host[:40])
    if address.is_multicast or address.is_unspecified or int(address) == 0xFFFFFFFF:
        return Said("The address of one machine is wanted, not {host}.", host=host)
    return None


def _wrong_way(output: Output, command: commands.SetRoute) -> Iterator[Said]:
    if command.ways is None:
        return
    by_address = {way.address: way for way in command.ways}
    if output.interface and output.interface not in by_address:
        yield Said("This laptop has no network with the address {interface} now.", interface=output.interface)
    if not output.interface and output.to != "host" and not command.has_main:
        yield Said("Levels go to given machines, so no network is chosen here: choose one for this output.")
    if output.to == "host" and any(output.host == way.broadcast for way in command.ways):
        yield Said(
            "That is everybody on the network ({host}). Choose broadcast if it is meant.", host=output.host
        )
