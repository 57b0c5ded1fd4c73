"""A console of somebody else's: the sender of the sacn package 1.11.0, by unicast on loopback."""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sacn import sACNsender
from sacn.sending import sender_socket_udp

__all__ = ["CID", "console", "drive"]

CID = uuid.UUID("ef07c8dd-0064-4401-a3a2-459ef8e6143e")


@contextmanager
def console(port: int, name: str = "Front desk", cid: uuid.UUID = CID) -> Iterator[sACNsender]:
    """Sends to that port, and ends its streams properly. One port at a time: the package knows only 5568."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sender_socket_udp, "DEFAULT_PORT", port)
        sender = sACNsender(
            bind_address="127.0.0.1",
            bind_port=0,
            source_name=name,
            cid=tuple(cid.bytes),
            universeDiscovery=False,
        )
        sender.start()
        try:
            yield sender
        finally:
            sender.stop()


def drive(sender: sACNsender, universe: int, levels: tuple[int, ...], priority: int = 100) -> None:
    """Have these levels sent from now on."""
    if universe not in sender.get_active_outputs():
        sender.activate_output(universe)
        sender[universe].destination = "127.0.0.1"
    sender[universe].priority = priority
    sender[universe].dmx_data = levels
