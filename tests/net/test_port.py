"""A port that is opened as soon as it can be, with the groups that belong to it."""

import asyncio
import socket

from server.net.port import Port, Wanted
from server.net.sockets import open_shared

__all__: list[str] = []


def test_it_is_open_once_whoever_had_the_port_alone_has_gone() -> None:
    async def story() -> None:
        came: asyncio.Future[bytes] = asyncio.get_running_loop().create_future()
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as alone:
            alone.bind(("", 0))
            number = alone.getsockname()[1]
            port = Port(number, lambda data, _: came.set_result(data), socket.AF_INET)
            port.follow({})
            before = port.trouble, port.is_open
        port.follow({"": Wanted({41_300}, "127.0.0.1")})
        assert before[0] is not None
        assert (before[1], port.is_open, port.trouble, port.missing) == (False, True, None, None)
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as mouth:
            mouth.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton("127.0.0.1"))
            mouth.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_TTL, 0)
            mouth.sendto(b"level", ("239.255.161.84", number))  # E1.31-2018, 9.3.1: 41300 is 161 and 84
            assert await came == b"level"
        await port.close()

    asyncio.run(asyncio.wait_for(story(), 10))


def test_a_network_that_is_no_longer_wanted_is_left_and_what_cannot_be_joined_is_told() -> None:
    async def story() -> None:
        with open_shared(0) as other:
            port = Port(other.getsockname()[1], lambda *_: None, socket.AF_INET)
        port.follow({"": Wanted({41_301}, "127.0.0.1"), "192.0.2.77": Wanted({41_301}, "192.0.2.77")})
        before = port.missing
        port.follow({"": Wanted({41_301}, "127.0.0.1")})
        assert (before is None, port.missing) == (False, None)  # RFC 5737: an address of documentation
        await port.close()

    asyncio.run(asyncio.wait_for(story(), 10))
