"""The ways packets leave by: opened when a plan needs them, mended when they break."""

from collections.abc import Iterable

from server.output.batch import Address
from server.output.place import ART_NET, By
from server.output.way import Way
from server.wire import artnet

__all__ = ["Sender"]


class Sender:
    """A socket for each way.

    failed: sentences and hosts of what did not leave, until somebody empties it.
    """

    def __init__(self, artnet_port: int = artnet.PORT) -> None:
        """artnet_port: where Art-Net leaves from, while nobody else has that port."""
        self.failed: set[tuple[str, str]] = set()
        # Opened first and kept: whoever polls nodes has to bind the port after it.
        self._ways = {ART_NET: Way(ART_NET, self.failed, artnet_port)}

    @property
    def artnet_port(self) -> int:
        """The port that Art-Net leaves from, by which it is known as ours; 0 while there is no socket."""
        return self._ways[ART_NET].port

    @property
    def broken(self) -> bool:
        """Whether `rebuild` may help."""
        return any(way.broken for way in self._ways.values())

    def use(self, needed: Iterable[By]) -> None:
        """Have these ways open, and no others but that of Art-Net; those open already stay as they are."""
        kept = {ART_NET, *needed}
        for by in tuple(self._ways):
            if by not in kept:
                self._ways.pop(by).close()
        for by in kept:
            if by not in self._ways:
                self._ways[by] = Way(by, self.failed, self.artnet_port)

    def way(self, by: By) -> Way:
        """One that is in use."""
        return self._ways[by]

    def send_once(self, packet: bytearray, to: Iterable[tuple[By, Address]]) -> None:
        """Send one packet that is not part of a batch, each time by the way named."""
        for by, address in to:
            self._ways[by].send_once(packet, (address,))

    def rebuild(self) -> set[By]:
        """Mend what is broken; returns the ways whose interface was waited for and is there again."""
        return {by for by, way in self._ways.items() if way.broken and way.rebuild()}

    def close(self) -> None:
        """Close all sockets."""
        for way in self._ways.values():
            way.close()
