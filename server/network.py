"""The network a running show stands on: watched, followed as it changes, and told to all it concerns."""

import asyncio
import os
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from server import welcome
from server.api.room import Room
from server.engine.routing import Routing
from server.net.devices import devices
from server.net.findings import Finding, alerts, findings, listed
from server.net.following import WATCH_S, Following
from server.net.interfaces import Interface, choose, reachable, read_interfaces, towards
from server.net.listening import Address
from server.net.nodes import Nodes, open_nodes
from server.output.trouble import sentence_of
from server.rig.said import Said
from server.settings import Settings
from server.stage.outputs import NO_ROUTE, Output, Way, outputs_of
from server.wire import artnet

if TYPE_CHECKING:
    from server.net.name import Name

__all__ = ["Network"]

_GATHER_S = 0.1  # between two plans for nodes that came, went or changed


class Network:
    """Which interface levels leave by, which nodes want them, and where phones find the page.

    routing: which universe goes where, as the network is now. nodes: those found, once they are looked for.
    """

    def __init__(
        self, settings: Settings, cid: str, levels: Callable[[artnet.Dmx, Address], None] | None = None
    ) -> None:
        """cid: this installation's, a UUID's text. levels: given what is heard on the nodes' port."""
        found = read_interfaces()
        self.nodes: Nodes | None = None
        self._settings, self._levels = settings, levels
        self._following = Following(_chosen(settings, found), settings.interface is not None)
        self._found: Sequence[Interface] = found
        # Where the terminal says that phones find the page: the first addresses are in the welcome.
        self._shown = tuple(each.address for each in reachable(found, settings.host))
        self._moved = asyncio.Event()
        self._told = 0  # alerts about nodes
        self._gone: dict[str, float] = {}  # networks that outputs are to leave by, and since when
        self._nodes_changed = asyncio.Event()
        self.routing = Routing(
            cid=cid,
            source_name=settings.source_name,
            priority=settings.priority,
            sacn_to=tuple((to.host, to.port) for to in settings.sacn_to),
            artnet_to=tuple((to.host, to.port) for to in settings.artnet_to),
            artnet_broadcast=settings.artnet_broadcast,
            artnet_offset=settings.artnet_offset,
            steady=frozenset(settings.steady),
            off_limits=settings.off_limits,
            sync_pause_s=settings.sync_pause_ms / 1000,
        )
        self._route()

    def become(self, cid: str) -> None:
        """Levels leave with this CID from the next plan on."""
        self.routing = replace(self.routing, cid=cid)

    def subscribers(self, port_address: int, interface: str) -> Iterable[str]:
        """The hosts of the nodes that want a Port-Address, on the network of one of our addresses.

        interface: "" for the main one, which also counts those that are on no network of ours.
        """
        wanted = "" if interface == self.routing.interface else interface
        for host in self.nodes.subscribers(port_address) if self.nodes else ():
            if self.network_of(host) == wanted:
                yield host

    def network_of(self, host: str) -> str:
        """Our address on the network that machine is on; "" for the main one, or none of ours."""
        main = self._following.interface
        if ":" in host and main is not None and main.reaches(host):
            return ""  # one adapter may have several addresses of IPv4, and all of them its IPv6
        return next((each.address for each in self._others if each.reaches(host)), "")

    @property
    def addresses(self) -> frozenset[str]:
        """Those of this machine now."""
        return frozenset(each.address for each in self._found)

    @property
    def networks(self) -> frozenset[tuple[str, ...]]:
        """What `network_of` and `ipv6` go by."""
        return frozenset((each.address, str(each.index), *each.ipv6) for each in self._found)

    def ipv6(self, address: str | None) -> int | None:
        """By which number IPv6 names the interface with that address of ours; None: it has no IPv6."""
        here = (each.index for each in self._found if each.address == address and each.ipv6)
        return next(here, None) or None

    def hears_by(self) -> str | None:
        """Which of our addresses levels of others arrive on; None while its interface is away.

        Where machines are given and no interface, it is the one that leads to the first of them.
        """
        interface = self._following.interface
        if interface is not None:
            return interface.address if self._following.lost_at is None else None
        given = (*self.routing.sacn_to, *self.routing.artnet_to)
        return towards(given[0][0]) if given else None

    def is_there(self, output: Output) -> bool:
        """Whether the network that an output leaves by is there, as far as the system says."""
        if output.to == "host" and not output.interface:
            by = towards(output.host)
            return by is not None and all(each.is_up for each in self._found if each.address == by)
        if output.interface:
            return any(each.is_up for each in self._found if each.address == output.interface)
        return self._following.lost_at is None

    async def run(self, room: Room, plan: Callable[[], None]) -> None:
        """Watch until cancelled. plan: called when levels are to go elsewhere."""
        room.about_nodes = lambda: self._about_nodes(room)
        room.routing, room.replan = lambda: self.routing, plan
        self._look(room, self._found, plan)
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._watch(room, plan))
            tasks.create_task(self._find_nodes(room))
            tasks.create_task(self._follow_nodes(plan))
            tasks.create_task(self._announce(room))

    async def _watch(self, room: Room, plan: Callable[[], None]) -> None:
        while True:
            await asyncio.sleep(WATCH_S)
            try:
                found = await asyncio.to_thread(read_interfaces)
            except OSError:
                continue  # the system did not say this time: it is asked again
            self._look(room, found, plan)

    def _look(self, room: Room, found: Sequence[Interface], plan: Callable[[], None]) -> None:
        now, following = time.time(), self._following
        before, was_there = following.interface, following.lost_at is None
        following.look(found, now)
        self._found = found
        routing = self.routing
        self._route()
        if before and following.interface and before.is_loopback and not following.interface.is_loopback:
            # What left before was for this machine only.
            room.joining.again(room.engine.rig.universes)
        if self.routing != routing:
            plan()
        is_there = following.lost_at is None
        self._aim(room, again=following.interface != before or (is_there and not was_there))
        room.laptop.interface = str(following.interface) if following.interface else None
        room.laptop.is_there = is_there
        self._tell(room, following.sentence(now))
        self._tell_gone(room, now)
        self._tell_polls(room, is_there)
        self._tell_nodes(room, is_there)
        self._open_doors(room, found)

    def _tell(self, room: Room, sentence: Said | None) -> None:
        news = sentence is not None and sentence != room.alerts.get("network")
        room.alert("network", sentence)
        if sentence is not None and news:
            welcome.show(["", f"  {sentence}"])

    def _tell_gone(self, room: Room, now: float) -> None:
        """Say which outputs wait for a network of their own."""
        here = {way.address for way in self.routing.ways}
        waiting: dict[str, list[int]] = {}
        for universe in room.engine.rig.universes:
            outputs = room.stage.state.routes.get(universe, NO_ROUTE).outputs
            for interface in {output.interface for output in outputs} - here - {""}:
                waiting.setdefault(interface, []).append(universe)
        for interface in self._gone.keys() - waiting.keys():
            room.alert(f"way {interface}", None)
        self._gone = {interface: self._gone.get(interface, now) for interface in waiting}
        for interface, universes in waiting.items():
            said = Said(
                "Universe {universes} is to leave by {interface}, which is not there since {time}: is the "
                "cable in, is the Wi-Fi on? Nothing of that leaves by another network meanwhile.",
                universes=listed(universes),
                interface=interface,
                time=_clock_at(self._gone[interface]),
            )
            room.alert(f"way {interface}", said)

    def _tell_polls(self, room: Room, is_there: bool) -> None:
        if self.nodes is None:
            return
        wrong = self.nodes.trouble if is_there else None  # while it is gone, that says enough
        why = sentence_of(wrong).replace("{host}", "the nodes") if wrong else ""
        room.alert("nodes", Said("Art-Net nodes cannot be looked for. {why}", why=why) if why else None)

    def _tell_nodes(self, room: Room, is_there: bool) -> None:
        told = alerts(self._about_nodes(room)) if is_there else []  # while it is gone, that says enough
        for at in range(max(len(told), self._told)):
            room.alert(f"node {at + 1}", told[at] if at < len(told) else None)
        self._told = len(told)

    def _about_nodes(self, room: Room) -> list[Finding]:
        found = devices(self.nodes.all()) if self.nodes else []
        universes = room.engine.rig.universes
        routes = room.stage.state.routes
        sent, wanted = (
            self.routing.port_addresses(universes, routes, to_nodes=only) for only in (False, True)
        )
        began = time.time() - time.monotonic()
        lost = {one.host: _clock_at(began + one.seen_s) for one in found if one.lost}
        main = self._following.interface
        outputs = (o for u in universes for o in outputs_of(routes, u, self.routing.usual))
        used = {output.interface for output in outputs if output.by == "artnet"}
        networks = [each for each in self._found if each.address in used or each == main]
        return findings(found, networks, sent, wanted, lost)

    def _open_doors(self, room: Room, found: Sequence[Interface]) -> None:
        """Say where phones find the page, when that is somewhere else than before."""
        laptop = room.laptop
        addresses = tuple(each.address for each in reachable(found, self._settings.host))
        if addresses == laptop.addresses:
            return
        laptop.addresses = addresses
        room.hub.laptop_changed()
        self._moved.set()
        if addresses and addresses != self._shown:
            self._shown = addresses
            colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
            welcome.show(welcome.moved_lines(self._settings, addresses, laptop.name, colour))

    def _route(self) -> None:
        main = self._following.interface
        # The main one counts as there while it is waited for: levels go on where another network leads to.
        here = {each.address: each for each in (*self._found, *([main] if main else [])) if each.is_up}
        ways = (Way(each.name, each.address, each.broadcast, each.index) for each in here.values())
        self.routing = replace(self.routing, interface=main.address if main else None, ways=tuple(ways))

    @property
    def _others(self) -> list[Interface]:
        """The interfaces beside the main one."""
        return [each for each in self._found if each.is_up and each.address != self.routing.interface]

    def _aim(self, room: Room, again: bool = False) -> None:
        """Poll where nodes are wanted. again: also when that is where it was."""
        if self.nodes is None:
            return
        networks = self.routing.node_networks(room.engine.rig.universes, room.stage.state.routes)
        targets = tuple((network.broadcast, artnet.PORT) for network in networks)
        ours = self.routing.interface or next((network.address for network in networks), None)
        if ours is not None and (targets != self.nodes.targets or again):
            self.nodes.move(targets, ours)

    async def _follow_nodes(self, plan: Callable[[], None]) -> None:
        """Let levels go to the nodes there are: at once, and whoever tells of changes, not all the time."""
        while True:
            await self._nodes_changed.wait()
            self._nodes_changed.clear()
            plan()
            await asyncio.sleep(_GATHER_S)

    async def _find_nodes(self, room: Room) -> None:
        """Listen on the Art-Net port, and poll for nodes where levels go wherever they are wanted."""
        port = self._settings.artnet_in_port
        nodes = Nodes((), self._nodes_changed.set, levels=self._levels, answers=self.routing.by_itself)
        while self.nodes is None:
            try:
                self.nodes = room.nodes = await open_nodes(nodes, port)
            except OSError as why:
                sentence = Said(
                    "Art-Net nodes and consoles cannot be heard: port {port} is taken ({why}).",
                    port=port,
                    why=why.strerror or str(why),
                )
                room.alert("nodes", sentence)
                await asyncio.sleep(artnet.POLL_INTERVAL_S)
        room.alert("nodes", None)
        self._aim(room)
        try:
            await nodes.run()
        finally:
            await nodes.close()

    async def _announce(self, room: Room) -> None:
        """Tell the page's name on the LAN, for the addresses that lead to it, as long as phones can come."""
        await self._moved.wait()
        name = await asyncio.to_thread(_name_of, self._settings.port)
        try:
            while True:
                await self._moved.wait()
                self._moved.clear()
                told = await name.tell(room.laptop.addresses)
                if told != room.laptop.name:
                    room.laptop.name = told
                    room.hub.laptop_changed()
                    if told is not None and told != welcome.NAME:
                        welcome.show(welcome.named_lines(self._settings, told))
        finally:
            await name.take_back()


def _clock_at(at: float) -> str:
    return datetime.fromtimestamp(at).astimezone().strftime("%H:%M")


def _name_of(port: int) -> "Name":
    # What it needs is loaded here, once levels are out: the start does not wait for it.
    from server.net.name import Name

    return Name(port)


def _chosen(settings: Settings, found: Sequence[Interface]) -> Interface | None:
    """The interface asked for; where nobody asked and no machine is given, the likeliest."""
    if settings.interface is not None:
        return next((each for each in found if each.address == settings.interface), None)
    given = settings.sacn_to or settings.artnet_to
    return None if given else choose(found).interface
