"""The interface that levels leave by, followed while interfaces go, come back and change their address."""

import ipaddress
from collections.abc import Sequence
from datetime import datetime

from server.net.interfaces import Interface, choose
from server.rig.said import Said

__all__ = ["WATCH_S", "Following"]

WATCH_S = 2.0  # common practice, no source: sooner than anybody looks for the fault
_TOLD_S = 60.0  # how long it is told that all is well again


class Following:
    """Decides by which interface levels leave, from what this machine has now.

    interface: the one in use; while it is gone, the one that is waited for. None: nobody asked for one.
    lost_at: since when it is gone, in seconds since 1970; None while it is there.
    """

    def __init__(self, chosen: Interface | None, asked_for: bool) -> None:
        """asked_for: by a person, who means this address and no other network."""
        self.interface = chosen
        self.lost_at: float | None = None
        self._home = chosen
        self._asked_for = asked_for
        self._good_news: tuple[Said, float] | None = None
        self._others: list[Interface] = []

    def look(self, found: Sequence[Interface], at: float) -> None:
        """Follow. found: what this machine has now. at: seconds since 1970."""
        if self.interface is None:
            return
        here = self._find([each for each in found if each.is_up])
        self._others = [each for each in found if each.is_up and not each.is_loopback and each != here]
        if here is None:
            if self.lost_at is None:
                self.lost_at, self._good_news = at, None
            return
        before, lost_at = self.interface, self.lost_at
        self.interface, self.lost_at = here, None
        if here.address != before.address:
            self._good_news = _moved(here, before, at), at
        elif lost_at is not None:
            self._good_news = _back(here, lost_at, at), at

    def sentence(self, at: float) -> Said | None:
        """What everybody should know now: that it is gone, or, for a minute, what became of it."""
        if self.interface is not None and self.lost_at is not None:
            return self._gone(self.interface, self.lost_at)
        if self._good_news is not None and at - self._good_news[1] < _TOLD_S:
            return self._good_news[0]
        return None

    def _find(self, up: Sequence[Interface]) -> Interface | None:
        """The best that is there: the address it began with, the one in use, the same adapter's other one."""
        now = self.interface
        if now is None:
            return None
        if now.is_loopback and not self._asked_for:
            # There was no network at the start, so the first one that comes is as good as chosen then.
            chosen = choose(up).interface
            if chosen is not None and not chosen.is_loopback:
                self._home = chosen
                return chosen
        adapter = [each for each in up if each.name == now.name]
        adapter.sort(key=lambda each: _strangeness(each, now))
        wanted = (self._home or now).address, now.address
        same = [each for address in wanted for each in up if each.address == address]
        if not self._asked_for:  # an address that nobody gave gives way to one that somebody gave
            same = [each for each in same if not each.is_self_given]
        return next(iter((*same, *adapter)), None)

    def _gone(self, interface: Interface, since: float) -> Said:
        gone = Said(
            "Levels leave by {interface}, which is gone since {time}: is the cable in, is the Wi-Fi on? "
            "It is looked for every {seconds} s and used again as soon as it is there.",
            interface=str(interface),
            time=_clock(since),
            seconds=round(WATCH_S),
        )
        if not self._others:
            return gone
        return Said(
            "{gone} This laptop is also on {others}: to use that, start again with --interface.",
            gone=gone,
            others=", ".join(str(each) for each in self._others),
        )


def _moved(here: Interface, before: Interface, at: float) -> Said:
    return Said(
        "Levels leave by {interface} since {time}, and no longer by {address}.",
        interface=str(here),
        time=_clock(at),
        address=before.address,
    )


def _back(here: Interface, lost_at: float, at: float) -> Said:
    return Said(
        "{interface} is back since {time}; it was gone for {seconds} s. Levels leave by it again.",
        interface=str(here),
        time=_clock(at),
        seconds=round(at - lost_at),
    )


def _strangeness(interface: Interface, before: Interface) -> tuple[bool, bool]:
    network = ipaddress.IPv4Network(f"{before.address}/{before.prefix}", strict=False)
    return interface.is_self_given, ipaddress.IPv4Address(interface.address) not in network


def _clock(at: float) -> str:
    return datetime.fromtimestamp(at).astimezone().strftime("%H:%M:%S")
