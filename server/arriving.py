"""What others send on our universes, as it arrives: the port, the groups, and which universe it is about."""

import uuid
from collections.abc import Callable, Iterable, Mapping
from time import monotonic

from server.api.room import Room
from server.beside.ears import Ears
from server.engine.routing import Ear
from server.hearing.sources import Sources
from server.net.groups import Groups
from server.net.listening import Address, Listening
from server.net.sockets import open_shared
from server.network import Network
from server.output.link import Output
from server.rig.said import Said
from server.wire import artnet, e131
from server.wire.error import WireError

__all__ = ["Arriving"]


class Arriving:
    """Hears sACN on a port of its own, and is given the Art-Net that arrives where nodes answer.

    sources: who is heard, and what they send. ahead: the same on numbers that universes of ours are still to
    go by. stir: called with the universe of every packet.
    """

    def __init__(self, port: int, cid: str) -> None:
        """port: that sACN arrives at. cid: this installation's, a UUID's text."""
        self._cid = uuid.UUID(cid).bytes
        self.sources, self.ahead = Sources(self._cid), Sources(self._cid)
        self.stir: Callable[[int], None] = lambda _: None
        self._port = port
        self._ours: tuple[frozenset[str], int] = frozenset(), 0  # addresses, and the port of our Art-Net
        self._ears, self._ears_ahead = Ears(), Ears()
        self._listening: Listening | None = None
        self._groups: dict[str, Groups] = {}

    def take_sacn(self, datagram: bytes, sender: Address) -> None:
        """Act on one datagram; whatever it holds, nothing is raised."""
        try:
            packet = e131.decode(datagram)
        except WireError as wrong:
            self.sources.refuse(sender[0], wrong.why)
            return
        if isinstance(packet, e131.Data):  # no synchronisation: data is acted on at once (6.2.4.1)
            is_ours, now = packet.cid == self._cid, monotonic()
            universes = () if is_ours else self._ears.universes("sacn", packet.universe, sender[0])
            for universe in universes or (0,):  # what is ours is counted
                self.sources.take_sacn(packet, sender[0], now, universe)
                self.stir(universe)
            for universe in self._ears_ahead.universes("sacn", packet.universe, sender[0]):
                self.ahead.take_sacn(packet, sender[0], now, universe)

    def take_artnet(self, packet: artnet.Dmx, sender: Address) -> None:
        """Levels that arrived by Art-Net; ours are known by where they come from."""
        addresses, port = self._ours
        if sender[1] == port and sender[0] in addresses:
            self.sources.own += 1
            return
        now = monotonic()
        for universe in self._ears.universes("artnet", packet.port_address, sender[0]):
            self.sources.take_artnet(packet, universe, sender[0], now)
            self.stir(universe)
        for universe in self._ears_ahead.universes("artnet", packet.port_address, sender[0]):
            self.ahead.take_artnet(packet, universe, sender[0], now)

    def follow(
        self,
        universes: Iterable[int],
        heard: Mapping[Ear, tuple[int, ...]],
        ahead: Mapping[Ear, tuple[int, ...]],
        network: Network,
    ) -> None:
        """Hear these universes by all that they are called, and ahead by what some are still to be called."""
        self._ears.follow(heard, network.network_of)
        self._ears_ahead.follow(ahead, network.network_of)
        self.sources.want(universes)
        self.ahead.want({universe for each in ahead.values() for universe in each})

    def look(self, room: Room, network: Network, output: Output) -> None:
        """Be called ten times a second: keep the port open, and be in the groups on each network."""
        self._ours = network.addresses, output.artnet_port
        if self._listening is None and (listening := self._open(room)) is not None:
            self._listening, self._groups = listening, {}
        if self._listening is None:
            return
        wanted = self._ears.groups()
        for interface, numbers in self._ears_ahead.groups().items():
            wanted[interface] = wanted.get(interface, set()) | numbers
        for interface in wanted.keys() - self._groups.keys():
            self._groups[interface] = Groups(self._listening.socket)
        for interface, groups in self._groups.items():
            there = interface if interface in network.addresses else None
            groups.follow(wanted.get(interface, ()), there if interface else network.hears_by())

    @property
    def missing(self) -> OSError | None:
        """Why a group could not be joined; None: all are."""
        return next((each.missing for each in self._groups.values() if each.missing is not None), None)

    async def close(self) -> None:
        """Hear nothing more."""
        for groups in self._groups.values():
            groups.close()
        if self._listening is not None:
            await self._listening.close()

    def _open(self, room: Room) -> Listening | None:
        try:
            opened = Listening(open_shared(self._port), self.take_sacn)
        except OSError as why:
            told = Said(
                "Consoles cannot be heard by sACN: port {port} is taken ({why}).",
                port=self._port,
                why=str(why),
            )
            room.alert("sacn", told)
            return None
        room.alert("sacn", None)
        return opened
