"""What others send on our universes, as it arrives: the port, the groups, and which universe it is about."""

import socket
import uuid
from collections.abc import Callable, Iterable, Mapping
from time import monotonic

from server.api.room import Room
from server.beside.ears import Ears
from server.engine.routing import Ear
from server.hearing.sources import Sources
from server.hearing.twin import Twin
from server.net.listening import Address
from server.net.port import Port, Wanted
from server.network import Network
from server.output.link import Output
from server.rig.said import Said
from server.wire import artnet, e131
from server.wire.error import WireError

__all__ = ["Arriving"]


class Arriving:
    """Hears sACN on a port of its own, and is given the Art-Net that arrives where nodes answer.

    sources: who is heard, and what they send. ahead: the same on numbers that universes of ours are still to
    go by. stir: called with the universe of every packet. twin: who else sends with our CID. by_ipv6: sACN by
    IPv6 is heard on all our networks.
    """

    def __init__(self, port: int, cid: str) -> None:
        """port: that sACN arrives at. cid: this installation's, a UUID's text."""
        self._cid = uuid.UUID(cid).bytes
        self.twin = Twin()
        self.sources, self.ahead = Sources(self._cid), Sources(self._cid)
        self.stir: Callable[[int], None] = lambda _: None
        self.by_ipv6 = False
        self._number = port
        self._four = Port(port, self.take_sacn, socket.AF_INET)
        self._six = Port(port, self.take_sacn, socket.AF_INET6)
        self._ours: tuple[frozenset[str], int] = frozenset(), 0  # addresses, and the port of our Art-Net
        self._ears, self._ears_ahead = Ears(), Ears()

    def take_sacn(self, datagram: bytes, sender: Address) -> None:
        """Act on one datagram; whatever it holds, nothing is raised."""
        try:
            packet = e131.decode(datagram)
        except WireError as wrong:
            self.sources.refuse(sender[0], wrong.why)
            return
        if isinstance(packet, e131.Data):  # no synchronisation: data is acted on at once (6.2.4.1)
            is_ours, now = packet.cid == self._cid, monotonic()
            if is_ours and ":" not in sender[0] and sender[0] not in self._ours[0]:
                self.twin.take(sender[0], now)
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

    def become(self, cid: str) -> None:
        """Ours is another CID now: who sends with the one before is not us."""
        self._cid, self.twin = uuid.UUID(cid).bytes, Twin()
        for sources in (self.sources, self.ahead):
            sources.become(self._cid)

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
        wanted = self._ears.groups()
        for address, numbers in self._ears_ahead.groups().items():
            wanted[address] = wanted.get(address, set()) | numbers
        main = network.hears_by()
        there = {each: (each if each in network.addresses else None) if each else main for each in wanted}
        self._four.follow({each: Wanted(wanted[each], there[each]) for each in wanted})
        self._tell(room, self._four.trouble)
        six = {each: network.ipv6(there[each]) for each in wanted}
        if self._six.is_open or any(six.values()):  # what is on a network without IPv6 is heard by IPv4
            self._six.follow({each: Wanted(wanted[each], six[each]) for each in wanted})
        self.by_ipv6 = self._six.is_open and self._six.missing is None and all(six.values())

    @property
    def is_deaf(self) -> bool:
        """Whether consoles cannot be heard by sACN at all: the port is somebody else's."""
        return self._four.trouble is not None

    @property
    def missing(self) -> OSError | None:
        """Why something cannot be heard by multicast; None: all is."""
        return self._four.missing or self._six.trouble or self._six.missing

    async def close(self) -> None:
        """Hear nothing more."""
        await self._four.close()
        await self._six.close()

    def _tell(self, room: Room, trouble: OSError | None) -> None:
        if trouble is None:
            room.alert("sacn", None)
            return
        told = Said(
            "Consoles cannot be heard by sACN: port {port} is taken ({why}). What has not begun waits until "
            "it is free, or until the lead says how to join.",
            port=self._number,
            why=trouble.strerror or str(trouble),
        )
        room.alert("sacn", told)
