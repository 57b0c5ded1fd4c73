"""The page's name on the LAN, as others resolve it; everything on loopback."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from zeroconf import IPVersion, ServiceInfo
from zeroconf.asyncio import AsyncServiceInfo, AsyncZeroconf

from server.net.name import Name
from tests import mdns

__all__: list[str] = []

HERE = "127.0.0.1"


@asynccontextmanager
async def neighbour() -> AsyncIterator[AsyncZeroconf]:
    """Somebody else on the network."""
    other = AsyncZeroconf(interfaces=[HERE], ip_version=IPVersion.V4Only)
    try:
        yield other
    finally:
        await other.async_close()


async def ask(name: str, seconds: float = 3.0) -> list[str]:
    return await asyncio.to_thread(mdns.ask, name, HERE, seconds)


def test_the_name_leads_to_this_machine_until_it_is_taken_back() -> None:
    async def run() -> None:
        name = Name(8010, "fc-alone")
        assert await name.tell([HERE]) == "fc-alone.local"
        assert await ask("fc-alone.local") == [HERE]
        async with neighbour() as other:
            page = AsyncServiceInfo("_http._tcp.local.", "fc-alone._http._tcp.local.")
            assert await page.async_request(other.zeroconf, 3000)
            assert (page.port, page.parsed_addresses(), page.server) == (8010, [HERE], "fc-alone.local.")
            assert page.properties == {b"path": b"/"}
        await name.take_back()
        assert await ask("fc-alone.local", 0.5) == []
        await name.take_back()

    asyncio.run(run())


def test_a_name_that_somebody_has_gets_a_number() -> None:
    async def run() -> None:
        first, second = Name(8010, "fc-many"), Name(8011, "fc-many")
        told = [await each.tell([HERE]) for each in (first, second)]
        assert told == ["fc-many.local", "fc-many-2.local"]
        await first.take_back()
        assert await second.tell([HERE]) == "fc-many.local", "the one that is free again"
        await second.take_back()

    asyncio.run(run())


def test_the_name_of_a_printer_is_taken_as_well() -> None:
    async def run() -> None:
        async with neighbour() as other:
            theirs = ServiceInfo(
                "_ipp._tcp.local.",
                "A printer._ipp._tcp.local.",
                parsed_addresses=[HERE],
                port=631,
                server="fc-print.local.",
            )
            await (await other.async_register_service(theirs))
            name = Name(8010, "fc-print")
            assert await name.tell([HERE]) == "fc-print-2.local"
            await name.take_back()

    asyncio.run(run())


def test_told_again_it_keeps_its_name_and_says_the_new_addresses() -> None:
    async def run() -> None:
        name = Name(8010, "fc-moved")
        await name.tell([HERE])
        assert await name.tell([HERE, "127.0.0.2"]) == "fc-moved.local"
        assert sorted(await ask("fc-moved.local")) == [HERE, "127.0.0.2"]
        await name.take_back()

    asyncio.run(run())


def test_what_cannot_be_told_is_one_sentence_in_the_log_and_no_more(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    # A system that gives nobody else the port of multicast DNS.
    def refuse(*_: object, **__: object) -> None:
        raise OSError(98, "Address already in use")

    monkeypatch.setattr("zeroconf._core.create_sockets", refuse)

    async def run() -> None:
        name = Name(8010, "fc-never")
        assert await name.tell([HERE]) is None
        await name.take_back()

    asyncio.run(run())
    (line,) = caplog.messages
    assert "Address already in use" in line
    assert "phones open it by its address" in line
