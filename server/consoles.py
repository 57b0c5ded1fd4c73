"""The consoles that others drive our universes with: listened for, and told of to all it concerns."""

import asyncio
import uuid
from time import monotonic

from server.api.room import Room
from server.hearing.sources import Sources
from server.hearing.told import alerts
from server.net.groups import Groups
from server.net.listening import Address, Listening
from server.net.sockets import open_shared
from server.network import Network
from server.output.link import Output
from server.rig.said import Said
from server.settings import Settings
from server.wire import artnet, e131
from server.wire.error import WireError

__all__ = ["Consoles"]

_LOOK_S = 0.5
_RATES_S = 2.0  # long enough that a source at rest, which sends once a second, does not seem to come and go


class Consoles:
    """Hears sACN on a port of its own, and is given the Art-Net that arrives where nodes answer.

    sources: who is heard, and what they send.
    """

    def __init__(self, settings: Settings, cid: str) -> None:
        """cid: this installation's, a UUID's text."""
        self.sources = Sources(uuid.UUID(cid).bytes)
        self._settings = settings
        self._ours: tuple[frozenset[str], int] = frozenset(), 0  # addresses, and the port of our Art-Net
        self._universes: tuple[int, ...] = ()
        self._told = 0
        self._rates_due = 0.0

    def take_sacn(self, datagram: bytes, sender: Address) -> None:
        """Act on one datagram; whatever it holds, nothing is raised."""
        try:
            packet = e131.decode(datagram)
        except WireError as wrong:
            self.sources.refuse(sender[0], wrong.why)
            return
        if isinstance(packet, e131.Data):  # no synchronisation: data is acted on at once (6.2.4.1)
            self.sources.take_sacn(packet, sender[0], monotonic())

    def take_artnet(self, packet: artnet.Dmx, sender: Address) -> None:
        """Levels that arrived by Art-Net; ours are known by where they come from."""
        addresses, port = self._ours
        if sender[1] == port and sender[0] in addresses:
            self.sources.own += 1
            return
        universe = packet.port_address + self._settings.artnet_offset
        self.sources.take_artnet(packet, universe, sender[0], monotonic())

    async def run(self, room: Room, network: Network, output: Output) -> None:
        """Listen and tell until cancelled."""
        room.sources = self.sources
        routing = network.routing
        room.sacn_priority = routing.priority if routing.by_itself or routing.sacn_to else None
        listening: Listening | None = None
        groups: Groups | None = None
        try:
            while True:
                if listening is None:
                    listening = self._open(room)
                    groups = Groups(listening.socket) if listening else None
                self._look(room, network, output)
                if groups is not None:
                    groups.follow(self._universes, network.hears_by())
                    _tell_missing(room, groups)
                await asyncio.sleep(_LOOK_S)
        finally:
            if listening is not None and groups is not None:
                groups.close()
                await listening.close()

    def _open(self, room: Room) -> Listening | None:
        port = self._settings.sacn_in_port
        try:
            opened = Listening(open_shared(port), self.take_sacn)
        except OSError as why:
            told = Said(
                "Consoles cannot be heard by sACN: port {port} is taken ({why}).", port=port, why=str(why)
            )
            room.alert("sacn", told)
            return None
        room.alert("sacn", None)
        return opened

    def _look(self, room: Room, network: Network, output: Output) -> None:
        now = monotonic()
        self._ours = network.addresses, output.artnet_port
        if room.engine.rig.universes != self._universes:
            self._universes = room.engine.rig.universes
            self.sources.want(self._universes)
        if now >= self._rates_due:
            self._rates_due = now + _RATES_S
            self.sources.look(now)
        nodes = network.nodes.all() if network.nodes else []
        self.sources.call({node.host: node.reply.long_name or node.reply.port_name for node in nodes})
        told = alerts(self.sources, room.sacn_priority, now)
        for at in range(max(len(told), self._told)):
            room.alert(f"heard {at + 1}", told[at] if at < len(told) else None)
        self._told = len(told)


def _tell_missing(room: Room, groups: Groups) -> None:
    if groups.missing is None:
        room.alert("groups", None)
        return
    why = groups.missing.strerror or str(groups.missing)
    room.alert("groups", Said("Consoles that send sACN by multicast cannot all be heard ({why}).", why=why))
