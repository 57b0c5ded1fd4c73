"""Art-Net nodes on loopback, each with an address of its own, that tell of themselves again and again."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from server.wire import artnet

__all__ = ["FAST_POLLS", "Fleet", "fleet", "reply"]

# What a server runs first where a test waits for a node to be lost, but is not to lose one when held up.
FAST_POLLS = "from server.wire import artnet\nartnet.POLL_INTERVAL_S, artnet.NODE_LOST_S = 0.25, 1.5"
_TELLS_S = 0.1


def reply(name: str, *outputs: int, mac: int = 1, **more: object) -> artnet.PollReply:
    """The answer of a node with these Port-Addresses, of one net and sub-net, at its outputs; at most 4."""
    first = outputs[0] if outputs else 0
    fields = {
        "ip": "0.0.0.0",
        "net": first >> 8,
        "sub_net": first >> 4 & 15,
        "port_name": name,
        "long_name": f"{name}, a node of this test",
        "num_ports": len(outputs),
        "port_types": bytes([0x80] * len(outputs)).ljust(4, b"\0"),
        "sw_out": bytes([port & 15 for port in outputs]).ljust(4, b"\0"),
        "mac": bytes([2, 0, 0, 0, 0, mac]),
        "bind_index": 1,
        "firmware": 0x0102,
        "status2": 0x08,
    }
    return artnet.PollReply(**(fields | more))  # type: ignore[arg-type]


class Fleet:
    """pages: the replies of each address, which may be changed while it runs."""

    def __init__(self, port: int, pages: dict[str, list[artnet.PollReply]]) -> None:
        """port: where the server hears Art-Net. pages: by address, 127.0.0.2 and on."""
        self.pages = pages
        self._port = port
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, name="nodes", daemon=True)
        self._thread.start()

    def _run(self) -> None:
        while not self._ending.wait(_TELLS_S):
            for host, pages in tuple(self.pages.items()):
                with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as node:
                    node.bind((host, 0))
                    for page in pages:
                        node.sendto(artnet.encode_poll_reply(page), ("127.0.0.1", self._port))

    def close(self) -> None:
        """Be silent."""
        self._ending.set()
        self._thread.join()


@contextmanager
def fleet(port: int, **pages: list[artnet.PollReply]) -> Iterator[Fleet]:
    """Nodes that tell of themselves until the end; `at_7` is the one at 127.0.0.7."""
    made = Fleet(port, {f"127.0.0.{name.removeprefix('at_')}": own for name, own in pages.items()})
    try:
        yield made
    finally:
        made.close()
