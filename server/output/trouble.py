"""What does not leave, in sentences that stay the same for as long as it does."""

import errno

__all__ = ["GONE", "MULTICAST", "Trouble", "sentence_of", "who"]

GONE = "The network interface that levels leave by is not there."
MULTICAST = "those who listen to multicast"
_SHOWN = 3  # hosts of one sentence that are named
_TOLD_S = 3.0  # after the last time it happened

_WORDS = {
    errno.ENETUNREACH: "No network leads to {host}: is the cable in, and is the right interface chosen?",
    errno.EHOSTUNREACH: "{host} cannot be reached: switched on, and on the same network?",
    errno.ENETDOWN: "The network is down: is the cable in?",
    errno.EACCES: "This machine does not allow sending to {host}: a firewall, or a broadcast address?",
    errno.EPERM: "A firewall on this machine stops what is sent to {host}.",
    errno.EAGAIN: "More is sent than the network takes; packets to {host} were left out.",
    errno.ENOBUFS: "More is sent than the network takes; packets to {host} were left out.",
    errno.EADDRNOTAVAIL: GONE,
    errno.ENODEV: GONE,
}


class Trouble:
    """Collects failures; each sentence is told once, however many packets and hosts are behind it."""

    def __init__(self) -> None:
        self._last: dict[str, dict[str, float]] = {}

    def note(self, sentence: str, host: str, now: float) -> None:
        """It happened again. sentence: with {host} where the host belongs. now: monotonic seconds."""
        self._last.setdefault(sentence, {})[host] = now

    def words(self, now: float) -> str:
        """All sentences about the last three seconds, the oldest first; "" when there are none."""
        for sentence, hosts in tuple(self._last.items()):
            still = {host: at for host, at in hosts.items() if now - at <= _TOLD_S}
            if still:
                self._last[sentence] = still
            else:
                del self._last[sentence]
        return " ".join(s.replace("{host}", _named(sorted(hosts))) for s, hosts in self._last.items())


def sentence_of(why: OSError) -> str:
    """What a person is told about an error of a socket; {host} stands where the host belongs."""
    return _WORDS.get(why.errno or 0) or f"Nothing goes out to {{host}}: {why}."


def who(host: str) -> str:
    """A host as a person knows it: a multicast group is nobody in particular."""
    if ":" in host:
        return MULTICAST if host.lower().startswith("ff") else host  # RFC 4291, 2.7
    return MULTICAST if 224 <= int(host.partition(".")[0]) <= 239 else host  # RFC 5771


def _named(hosts: list[str]) -> str:
    shown = hosts[:_SHOWN]
    more = len(hosts) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")
