"""Art-Net nodes: found by polling, listed with what they serve, for the day also when they fell silent."""

import asyncio
import socket
from collections import Counter, deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf
from time import monotonic

from server.net.listening import Address, Listening
from server.net.sockets import open_shared
from server.wire import artnet
from server.wire.error import WireError

__all__ = ["Node", "Nodes", "open_nodes"]

_POLLS = 3  # that a node may leave without an answer
_MOST_PAGES = 1024  # nodes of one port each on 1,024 universes; more is a fault or an attack
_MOST_FAULTS = 256  # senders and reasons kept apart
_FORGOTTEN_S = 16 * 3600.0  # a working day: what was there in the morning is still listed at night
_MOST_ANSWERS = 64  # a poll interval: more controllers than a venue has, too few to flood anybody with


@dataclass(frozen=True, slots=True)
class Node:
    """One page of a node: its address, its reply, and when that came (monotonic seconds).

    lost: it has not answered the last three polls.
    """

    host: str
    bind_index: int
    reply: artnet.PollReply
    seen_s: float
    lost: bool = False


class Nodes:
    """Polls, keeps the list of who answers, and answers the polls of others.

    faults: how often which sender's packets were refused for which reason.
    trouble: why the last poll did not leave, or None.
    """

    def __init__(
        self,
        targets: Sequence[Address],
        changed: Callable[[], None],
        *,
        ip: str = "127.0.0.1",
        name: str = "focuscall",
        levels: Callable[[artnet.Dmx, Address], None] | None = None,
        answers: bool = True,
        clock: Callable[[], float] = monotonic,
    ) -> None:
        """targets: where polls go; an interface's directed broadcast address, or hosts given by hand.

        changed: called when a node came, went, or serves something else. levels: called with ArtDmx heard
        on the same port. ip: our own address, for our own replies. answers: whether we answer polls.
        """
        self.targets = tuple(targets)
        self.faults: Counter[tuple[str, str]] = Counter()
        self.trouble: OSError | None = None
        self._changed = changed
        self._levels = levels
        self._answers = answers
        self._clock = clock
        # Two nodes with one address tell themselves apart by their MAC, and both are to be seen.
        self._pages: dict[tuple[str, int, bytes], Node] = {}
        self._answers_left = _MOST_ANSWERS if answers else 0
        self._asked = deque[float](maxlen=_POLLS)
        self._listening: Listening | None = None
        self._name = name
        self._own_reply = _reply(ip, name)

    def move(self, targets: Sequence[Address], ip: str) -> None:
        """Poll somewhere else from now on, and answer with another address of ours; asks there at once."""
        self.targets = tuple(targets)
        self._own_reply = _reply(ip, self._name)
        self.poll()

    def all(self) -> list[Node]:
        """Every page, also of nodes that are lost, by address and bind index."""
        return [self._pages[key] for key in sorted(self._pages, key=lambda k: (_by_number(k[0]), *k[1:]))]

    def subscribers(self, port_address: int) -> list[str]:
        """The hosts that want levels of a Port-Address: it is among their outputs or inputs.

        Source: Art-Net 4, Unicast Subscription.
        """
        hosts = {
            node.host
            for node in self._pages.values()
            if not node.lost and (port_address in node.reply.outputs or port_address in node.reply.inputs)
        }
        return sorted(hosts, key=_by_number)

    def forget(self, host: str) -> bool:
        """Take what is lost at that address off the list; whether there was anything."""
        lost = [key for key, node in self._pages.items() if node.host == host and node.lost]
        for key in lost:
            del self._pages[key]
        return bool(lost)

    async def run(self) -> None:
        """Poll every 2.7 s until cancelled."""
        while True:
            self.poll()
            await asyncio.sleep(artnet.POLL_INTERVAL_S)

    def poll(self) -> None:
        """Ask who is there; who did not answer the last three times is lost, and after a day forgotten."""
        now = self._clock()
        self._answers_left = _MOST_ANSWERS if self._answers else 0
        # Where this process stood still meanwhile, nobody was asked: that is not the nodes' silence.
        asked_s = self._asked[0] if len(self._asked) == _POLLS else -inf
        since_s = min(now - artnet.NODE_LOST_S, asked_s)
        self._asked.append(now)
        silent = [(key, node) for key, node in self._pages.items() if node.seen_s < since_s]
        here = {key[1:] for key, node in self._pages.items() if node.seen_s >= since_s}
        for key, node in silent:
            if now - node.seen_s > _FORGOTTEN_S or (any(key[2]) and key[1:] in here):  # it has moved
                del self._pages[key]
            else:
                self._pages[key] = replace(node, lost=True)
        if any(not node.lost for _, node in silent):
            self._changed()
        self.trouble = None
        for target in self.targets:
            self._send(_POLL, target)

    async def close(self) -> None:
        """Close the socket; it is closed when this returns."""
        if self._listening is not None:
            await self._listening.close()

    def use(self, shared: socket.socket) -> None:
        """Ask and hear by this socket from now on; `close` closes it."""
        self._listening = Listening(shared, self.datagram_received)

    @property
    def address(self) -> Address:
        """Where it hears; ("", 0) while it has no socket."""
        if self._listening is None:
            return "", 0
        host, port = self._listening.socket.getsockname()
        return host, port

    def datagram_received(self, data: bytes, addr: Address) -> None:
        """Act on one datagram; whatever it holds, nothing is raised."""
        try:
            packet = artnet.decode(data)
        except WireError as error:
            key = addr[0], error.why
            if key in self.faults or len(self.faults) < _MOST_FAULTS:
                self.faults[key] += 1
            return
        if isinstance(packet, artnet.PollReply):
            if data != self._own_reply:  # our own broadcast reaches us too
                self._heard(packet, addr[0])
        elif isinstance(packet, artnet.Dmx):
            if self._levels is not None:
                self._levels(packet, addr)
        elif isinstance(packet, artnet.Poll) and packet.target is None and self._answers_left:
            # A targeted poll asks for nodes that serve a Port-Address; we serve none.
            self._answers_left -= 1
            self._send(self._own_reply, addr)

    def _heard(self, reply: artnet.PollReply, host: str) -> None:
        # The datagram's own sender, not the address inside the reply: levels go where somebody answered.
        key = host, reply.bind_index or 1, reply.mac
        before = self._pages.get(key)
        if before is None:
            self._make_room(key)
            if len(self._pages) >= _MOST_PAGES:
                return
        self._pages[key] = Node(host, key[1], reply, self._clock())
        if before is None or before.lost or _lasting(before.reply) != _lasting(reply):
            self._changed()

    def _make_room(self, key: tuple[str, int, bytes]) -> None:
        """Let go of what a new page takes the place of: the node at an older address, or the longest lost."""
        _, bind_index, mac = key
        moved = [k for k, node in self._pages.items() if node.lost and k[1:] == (bind_index, mac)]
        for old in moved if any(mac) else ():
            del self._pages[old]
        lost = [k for k, node in self._pages.items() if node.lost]
        if lost and len(self._pages) >= _MOST_PAGES:
            del self._pages[min(lost, key=lambda k: self._pages[k].seen_s)]

    def _send(self, packet: bytes, to: Address) -> None:
        if self._listening is None:
            return
        try:
            self._listening.socket.sendto(packet, to)
        except OSError as why:
            self.trouble = why


async def open_nodes(nodes: Nodes, port: int = artnet.PORT, address: str = "") -> Nodes:
    """Open the socket for `nodes` on a port it may share; the caller then runs `nodes.run()`.

    Raises OSError: somebody uses the port alone.
    """
    nodes.use(open_shared(port, address))
    return nodes


_POLL = artnet.encode_poll(artnet.Poll(flags=0x02))  # bit 1: reply also when something changes


def _reply(ip: str, name: str) -> bytes:
    us = artnet.PollReply(
        ip,
        port_name=_fitted(name, 17),
        long_name=_fitted(name, 63),
        style=artnet.STYLE_CONTROLLER,
        status2=0x08,  # knows 15-bit Port-Addresses
    )
    return artnet.encode_poll_reply(us)


def _lasting(reply: artnet.PollReply) -> artnet.PollReply:
    # The report counts the replies, so it is another one each time.
    return replace(reply, node_report="")


def _fitted(name: str, octets: int) -> str:
    return name.replace("\0", "").encode()[:octets].decode(errors="ignore")


def _by_number(host: str) -> tuple[int, ...]:
    return tuple(int(part) for part in host.split("."))
