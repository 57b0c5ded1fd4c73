"""Where a universe goes that the output process is sending already."""

from server.engine.routing import Routing
from server.output.plan import ArtNet, Sacn, UniversePlan, wire_universe
from server.stage.outputs import Output, Route, To, number_on_wire

__all__ = ["running_as"]


def running_as(routing: Routing, planned: UniversePlan, wanted: tuple[Output, ...]) -> Route | None:
    """Its route, read off its plan, where it leaves by other numbers than it is to; else None.

    A protocol that it does not leave by at all says nothing: nodes may not have answered yet.
    """
    sent = tuple(_output(routing, one, planned.universe) for one in planned.outputs)
    there = {(one.by, one.number) for one in sent}
    asked = {(one.by, number_on_wire(one, planned.universe, routing.artnet_offset)): one.to for one in wanted}
    protocols = {by for by, _ in there}
    new = [key for key, to in asked.items() if key[0] in protocols and to != "nodes" and key not in there]
    return Route(sent, planned.steady) if new or there - asked.keys() else None


def _output(routing: Routing, one: Sacn | ArtNet, universe: int) -> Output:
    by = one.interface or ""
    if isinstance(one, ArtNet):
        return Output(
            "artnet", "host", one.host, one.port, number=one.port_address, interface=by, most_hz=one.most_hz
        )
    if one.ipv6 is not None:
        here = [way.address for way in routing.ways if way.index == one.ipv6]
        by = "" if routing.interface in here else next(iter(here), "")
    number = wire_universe(one, universe)
    if one.host is not None:
        return Output("sacn", "host", one.host, one.port, "", one.priority, number, by, one.most_hz)
    group: To = "multicast" if one.ipv6 is None else "multicast6"
    return Output("sacn", group, "", None, "", one.priority, number, by, one.most_hz)
