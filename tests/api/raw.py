"""A live channel without any library in between, for what no browser does; and a rig that says a lot."""

import json
import socket
from collections.abc import Iterator

from tests.phones import Message
from tests.servers import ENOUGH_S

__all__ = ["frame", "large_rig", "messages", "open_live"]


def open_live(port: int, token: str, takes: int | None = None) -> socket.socket:
    """A live channel of which no message has been read yet; takes: octets that the system may read ahead."""
    raw = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if takes is not None:
        raw.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, takes)
    raw.connect(("127.0.0.1", port))
    raw.settimeout(ENOUGH_S)
    lines = [
        f"GET /api/live?token={token} HTTP/1.1",
        f"Host: 127.0.0.1:{port}",
        "Upgrade: websocket",
        "Connection: Upgrade",
        "Sec-WebSocket-Version: 13",
        "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==",
    ]
    raw.sendall("\r\n".join([*lines, "", ""]).encode())
    answer = b""
    while not answer.endswith(b"\r\n\r\n"):  # nothing may be sent before it is there (RFC 6455, 4.1)
        answer += raw.recv(1)
    return raw


def frame(text: str) -> bytes:
    """A text message of up to 65,535 octets as a client sends it, masked with zeros (RFC 6455, 5.3)."""
    octets = text.encode()
    length = bytes([0x80 | len(octets)]) if len(octets) < 126 else b"\xfe" + len(octets).to_bytes(2, "big")
    return b"\x81" + length + bytes(4) + octets


def messages(raw: socket.socket) -> Iterator[Message]:
    """What comes through it, frame by frame, not fragmented or masked (RFC 6455, 5.2). Answers no ping."""
    with raw.makefile("rb") as stream:
        while head := stream.read(2):
            length = head[1]
            if length > 125:
                length = int.from_bytes(stream.read(2 if length == 126 else 8), "big")
            text = stream.read(length)
            if head[0] == 0x81:
                yield json.loads(text)


def large_rig() -> bytes:
    """260 moving lights on 20 universes: a change of all of them is more than 100 kB."""
    lines = ["Position,Unit,Channel,Profile,Mode,Universe,Address"]
    for n in range(260):
        universe, place = divmod(n, 13)
        where = f"{universe + 1},{place * 38 + 1}"
        lines.append(f"Grid,{n + 1},{n + 1},moving-framing,38-slot blades by corner,{where}")
    return "\n".join(lines).encode()
