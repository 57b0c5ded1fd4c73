"""Where this server is found, and which network levels leave by: what is true of the laptop just now."""

from dataclasses import dataclass

__all__ = ["Laptop"]


@dataclass(slots=True)
class Laptop:
    """Kept up to date by whoever watches the network.

    port: of the page. addresses: IPv4, that phones may reach, the likeliest first. name: the announced one,
    such as focuscall.local. interface: in words; None: whichever leads to the machines given. is_there:
    that interface is.
    """

    port: int
    addresses: tuple[str, ...] = ()
    name: str | None = None
    interface: str | None = None
    is_there: bool = True

    def view(self) -> dict[str, object]:
        """As phones see it: the page by address, and by name where there is one."""
        return {
            "pages": [self._page(address) for address in self.addresses],
            "name": self._page(self.name) if self.name else None,
        }

    def _page(self, host: str) -> str:
        return f"http://{host}:{self.port}/"
