"""Reading a socket in helpings: nothing is lost within reason, and nobody waits for a flood."""

import asyncio
import socket

from server.net.listening import Listening
from server.net.sockets import open_shared
from tests.networks import own_network

__all__: list[str] = []


def test_a_burst_is_read_in_order_with_its_senders() -> None:
    async def story() -> None:
        heard: list[tuple[bytes, tuple[str, int]]] = []
        whole = asyncio.Event()

        def take(data: bytes, sender: tuple[str, int]) -> None:
            heard.append((data, sender))
            if len(heard) == 200:
                whole.set()

        listening = Listening(open_shared(0, "127.0.0.1"), take)
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as mouth:
            mouth.bind(("127.0.0.2", 0))
            for number in range(200):
                mouth.sendto(number.to_bytes(2, "big"), listening.socket.getsockname())
            sender = mouth.getsockname()
            await whole.wait()
        await listening.close()
        assert heard == [(number.to_bytes(2, "big"), sender) for number in range(200)]
        assert listening.socket.fileno() == -1

    asyncio.run(asyncio.wait_for(story(), 10))


def test_a_sender_by_ipv6_is_told_by_its_address_and_of_one_that_is_only_next_door_where_that_is() -> None:
    async def told(host: str, interface: str) -> tuple[str, bool]:
        came = asyncio.get_running_loop().create_future()
        own = open_shared(0, family=socket.AF_INET6)
        listening = Listening(own, lambda data, sender: came.set_result(sender))
        with socket.socket(socket.AF_INET6, socket.SOCK_DGRAM) as mouth:
            scope = socket.if_nametoindex(interface)
            mouth.bind((host, 0, 0, scope if host.startswith("fe80") else 0))
            mouth.sendto(b"x", (host, own.getsockname()[1], 0, scope))
            address, port = await came
            is_its = port == mouth.getsockname()[1]
        await listening.close()
        return address, is_its

    with own_network() as network:
        assert asyncio.run(asyncio.wait_for(told("::1", "lo"), 10)) == ("::1", True)
        network.add("rig")
        network.give_ipv6("rig", "fe80::9/64")
        number = socket.if_nametoindex("rig")
        assert asyncio.run(asyncio.wait_for(told("fe80::9", "rig"), 10)) == (f"fe80::9%{number}", True)


def test_however_much_comes_a_turn_takes_so_many_and_then_the_others_have_theirs() -> None:
    async def story() -> None:
        helpings = [0]

        def take(data: bytes, sender: tuple[str, int]) -> None:
            helpings[-1] += 1

        listening = Listening(open_shared(0, "127.0.0.1"), take)
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as mouth:
            for _ in range(300):  # all there before the first is read
                mouth.sendto(bytes(638), listening.socket.getsockname())
        while sum(helpings) < 300:
            await asyncio.sleep(0)  # somebody else's turn
            helpings.append(0)
        await listening.close()
        assert max(helpings) == 64
        assert len([one for one in helpings if one]) == 5

    asyncio.run(asyncio.wait_for(story(), 10))


def test_it_can_be_closed_before_anything_came() -> None:
    async def story() -> None:
        listening = Listening(open_shared(0, "127.0.0.1"), lambda *_: None)
        await listening.close()
        assert listening.socket.fileno() == -1

    asyncio.run(asyncio.wait_for(story(), 10))
