"""Where universes go, in words: for the record, and before it is done."""

from collections.abc import Sequence

from server.rig.said import Said
from server.stage.commands_outputs import SetRoute, SetSync
from server.stage.outputs import MOST_HZ, Output, number_on_wire
from server.stage.state import Before, State
from server.stage.told import told

__all__ = ["spoken_output"]

KINDS = {
    ("sacn", "multicast"): Said("sACN by multicast"),
    ("sacn", "multicast6"): Said("sACN by IPv6 multicast"),
    ("artnet", "nodes"): Said("Art-Net to the nodes that serve it"),
    ("artnet", "broadcast"): Said("Art-Net to everybody on the network"),
}


def spoken_output(output: Output, universe: int, offset: int, priority: int) -> Said:
    """One output in words.

    offset: universe less Port-Address. priority: of sACN that has none of its own.
    """
    what = _place(output, number_on_wire(output, universe, offset), priority)
    if output.interface:
        what = Said("{what}, by {interface}", what=what, interface=output.interface)
    if output.most_hz < MOST_HZ:
        what = Said("{what}, {hz} times a second at most", what=what, hz=output.most_hz)
    return Said("{name}: {output}", name=output.name, output=what) if output.name else what


def _place(output: Output, number: int | None, priority: int) -> Said:
    if number is None:
        return Said("not by Art-Net, which has no number for it")
    own = priority if output.priority is None else output.priority
    port = "" if output.port is None else f":{output.port}"
    parted = f"{number} ({number >> 8}:{number >> 4 & 15}:{number & 15})"
    match output.by, output.to:
        case "sacn", "multicast":
            return Said("sACN {number} by multicast, priority {priority}", number=number, priority=own)
        case "sacn", "multicast6":
            return Said("sACN {number} by IPv6 multicast, priority {priority}", number=number, priority=own)
        case "sacn", _:
            where = f"{output.host}{port}"
            return Said(
                "sACN {number} to {where}, priority {priority}", number=number, where=where, priority=own
            )
        case _, "nodes":
            return Said("Art-Net {number} to the nodes that serve it", number=parted)
        case _, "broadcast":
            return Said("Art-Net {number} to everybody on the network", number=parted)
        case _:
            return Said("Art-Net {number} to {where}", number=parted, where=f"{output.host}{port}")


@told.register
def _(command: SetRoute, state: State, before: Before) -> Said:
    route = state.routes.get(command.universe)
    if route is None or not route.outputs:
        if route is not None and route.steady is not None:
            return Said(
                "Universe {universe} goes as usual, {rate}.",
                universe=command.universe,
                rate=_rate(route.steady),
            )
        return Said("Universe {universe} goes as usual again.", universe=command.universe)
    return Said(
        "Universe {universe} goes: {outputs}.", universe=command.universe, outputs=_joined(route.outputs)
    )


def _joined(outputs: Sequence[Output]) -> Said:
    what = _short(outputs[0])
    for output in outputs[1:]:
        what = Said("{first}; {then}", first=what, then=_short(output))
    return what


def _short(output: Output) -> Said:
    # What the settings fill in is not the lead's decision, so the record says nothing of it.
    kind = "sACN" if output.by == "sacn" else "Art-Net"
    where = KINDS.get((output.by, output.to), Said("{protocol} to {host}", protocol=kind, host=output.host))
    return where if output.number is None else Said("{where} as {number}", where=where, number=output.number)


def _rate(steady: bool) -> Said:
    return Said("always at full rate") if steady else Said("at full rate only while something changes")


@told.register
def _(command: SetSync, state: State, before: Before) -> Said:
    now, was = state.sync, before.sync
    if was is not None and (was.sacn, was.artnet) == (now.sacn, now.artnet):
        if now.pause_ms is None:
            return Said("The pause before synchronisation is as usual again.")
        return Said("The pause before synchronisation is {pause} ms.", pause=now.pause_ms)
    if not now.sacn and not now.artnet:
        return Said("Receivers are not synchronised any more.")
    kinds = [f"sACN {now.sacn}"] if now.sacn else []
    kinds += ["ArtSync"] if now.artnet else []
    return Said("Receivers are synchronised: {kinds}.", kinds=", ".join(kinds))
