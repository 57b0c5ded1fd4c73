"""A name on the LAN: focuscall.local leads to this server without anybody typing an address."""

import asyncio
import contextlib
import logging
from collections.abc import Sequence

from zeroconf import (  # type: ignore[attr-defined]  # AddressResolver is there, only not in its __all__
    AddressResolver,
    IPVersion,
    NonUniqueNameException,
    ServiceInfo,
)
from zeroconf.asyncio import AsyncZeroconf

__all__ = ["Name"]

_SERVICE = "_http._tcp.local."  # RFC 6763, section 7, and IANA's list of services: a web page
_LISTEN_MS = 1000  # RFC 6762, 8.1 asks three times within 750 ms whether a name is taken
_MOST_NUMBERS = 20  # laptops of one house; more is a fault, or somebody who answers to everything
_LEAVE_S = 2.0


log = logging.getLogger(__name__)


class Name:
    """Announces one name by multicast DNS (RFC 6762), and the page behind it as a service (RFC 6763)."""

    def __init__(self, port: int, wanted: str = "focuscall") -> None:
        """port: of the page. wanted: one label, without a dot."""
        self._port, self._wanted = port, wanted
        self._zeroconf: AsyncZeroconf | None = None

    async def tell(self, addresses: Sequence[str]) -> str | None:
        """Announce the name for these IPv4 addresses of ours, on their networks and no others.

        Takes about three seconds, most of it listening whether somebody has the name: then it becomes
        focuscall-2 and so on. Called again, what was announced before is taken back first. Returns the name
        with its `.local`; None when it cannot be announced, and then the log says why.
        """
        await self.take_back()
        if not addresses:
            return None
        logging.getLogger("zeroconf").setLevel(logging.CRITICAL)  # what matters is told here, once
        try:
            self._zeroconf = AsyncZeroconf(interfaces=list(addresses), ip_version=IPVersion.V4Only)
            for number in range(1, _MOST_NUMBERS + 1):
                label = self._wanted if number == 1 else f"{self._wanted}-{number}"
                if await self._register(self._zeroconf, label, addresses):
                    return f"{label}.local"
            why = f"{self._wanted} and {_MOST_NUMBERS - 1} names like it are taken"
        except Exception as wrong:  # whatever it is: a name is a convenience, and light goes on
            why = str(wrong) or type(wrong).__name__
        await self.take_back()
        log.warning("The page has no name on this network (%s): phones open it by its address.", why)
        return None

    async def take_back(self) -> None:
        """Tell everybody that the name leads nowhere any more, and close all sockets."""
        zeroconf, self._zeroconf = self._zeroconf, None
        if zeroconf is not None:
            with contextlib.suppress(Exception):
                async with asyncio.timeout(_LEAVE_S):
                    await zeroconf.async_close()

    async def _register(self, zeroconf: AsyncZeroconf, label: str, addresses: Sequence[str]) -> bool:
        server = f"{label}.local."
        if await AddressResolver(server).async_request(zeroconf.zeroconf, _LISTEN_MS):
            return False
        page = ServiceInfo(
            _SERVICE,
            f"{label}.{_SERVICE}",
            parsed_addresses=list(addresses),
            port=self._port,
            server=server,
            properties={"path": "/"},
        )
        try:
            await (await zeroconf.async_register_service(page))
        except NonUniqueNameException:
            return False
        return True
