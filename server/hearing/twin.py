"""Another machine that sends with our CID: one data folder is a copy of the other."""

from collections.abc import Collection

__all__ = ["Twin"]

# An address of ours may be known later than packets come from it: networks are looked at each two seconds.
_SURE_S = 2.5
_LOSS_S = 2.5  # E1.31-2018, Appendix A: network data loss
_MOST = 16


class Twin:
    """Where packets with our CID come from that are not known to be ours."""

    def __init__(self) -> None:
        self._heard: dict[str, tuple[float, float]] = {}  # when the first came, and the last

    def take(self, address: str, now: float) -> None:
        """One came from there."""
        first, last = self._heard.get(address, (now, now))
        if address in self._heard or len(self._heard) < _MOST:
            self._heard[address] = (first if now - last < _LOSS_S else now), now

    def where(self, ours: Collection[str], now: float) -> str | None:
        """The address of another machine that does so now, if that is certain. ours: our own addresses."""
        for address in [each for each, (_, last) in self._heard.items() if now - last >= _LOSS_S]:
            del self._heard[address]
        certain = (each for each, (first, last) in self._heard.items() if last - first >= _SURE_S)
        return next((each for each in certain if each not in ours), None)
