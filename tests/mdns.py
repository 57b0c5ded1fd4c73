"""A plain resolver of multicast DNS, and an ear for it, both written from the RFCs; on one interface only."""

import socket
import struct
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

__all__ = ["PORT", "ask", "listening"]

GROUP, PORT = "224.0.0.251", 5353  # RFC 6762, section 3
A_IN = struct.pack("!2H", 1, 1)  # RFC 1035, 3.2.2 and 3.2.4: a host address, on the internet


def ask(name: str, interface: str, seconds: float = 3.0) -> list[str]:
    """Return the IPv4 addresses of a name; none when nobody answers in time.

    Asked from a port that is not 5353, so one answer comes back to this socket alone, with the question in
    it (RFC 6762, 6.7).
    """
    wanted = b"".join(bytes([len(part)]) + part.encode() for part in name.split(".")) + b"\0"
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as resolver:
        resolver.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton(interface))
        resolver.bind((interface, 0))
        resolver.settimeout(seconds)
        resolver.sendto(struct.pack("!6H", 7, 0, 1, 0, 0, 0) + wanted + A_IN, (GROUP, PORT))
        try:
            answer = resolver.recv(2000)
        except TimeoutError:
            return []
    number, flags, questions, answers, _, _ = struct.unpack_from("!6H", answer)
    assert (number, flags & 0x8000, questions) == (7, 0x8000, 1), "an answer to it (RFC 1035, 4.1.1)"
    at = 12 + len(wanted) + len(A_IN)
    found = []
    for _ in range(answers):
        # Labels up to an empty one, or a pointer to them (RFC 1035, 4.1.4).
        at = at + 2 if answer[at] >= 0xC0 else answer.index(b"\0", at) + 1
        length = int.from_bytes(answer[at + 8 : at + 10])
        if answer[at : at + 4] == A_IN:
            found.append(socket.inet_ntoa(answer[at + 10 : at + 10 + length]))
        at += 10 + length
    return found


@contextmanager
def listening(interface: str) -> Iterator[list[bytes]]:
    """All that is said to the group on that interface, as it comes in."""
    heard: list[bytes] = []
    ending = threading.Event()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as ear:
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if sys.platform != "win32":
            ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        ear.bind(("", PORT))
        asked = socket.inet_aton(GROUP) + socket.inet_aton(interface)
        ear.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, asked)
        ear.settimeout(0.05)

        def listen() -> None:
            over = False
            while not over:
                over = ending.is_set()  # and what is there already is still read
                with suppress(TimeoutError):
                    while True:
                        heard.append(ear.recv(9000))

        thread = threading.Thread(target=listen)
        thread.start()
        try:
            yield heard
        finally:
            ending.set()
            thread.join()
