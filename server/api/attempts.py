"""Wrong PINs: a few may be a thumb's mistake, many are somebody trying them all."""

import ipaddress
import math
from dataclasses import dataclass, field

__all__ = ["MOST", "Attempts"]

MOST = 10  # wrong ones within WINDOW_S from one address; then it waits
WINDOW_S = 60.0
PAUSE_S = 60.0  # the first wait; each further one is twice as long
LONGEST_PAUSE_S = 3600.0  # ten tries an hour: the 10,000 PINs of four digits last for weeks
FORGIVEN_S = 7200.0  # after so long without a wrong PIN an address begins anew
MOST_ADDRESSES = 1000  # remembered; far more than a venue's network hands out


@dataclass(slots=True)
class _Guesses:
    """trying: those not answered yet. wrong: when, in the last minute. pauses: how many so far."""

    trying: int = 0
    wrong: list[float] = field(default_factory=list)
    pauses: int = 0
    until: float = -math.inf
    last: float = -math.inf


class Attempts:
    """Who gave wrong PINs, and when. Time is handed in: seconds that only go forward.

    A right PIN forgives nothing: whoever has the crew's could otherwise go on guessing the lead's for ever.
    """

    def __init__(self) -> None:
        self._by: dict[str, _Guesses] = {}

    def begin(self, address: str, now: float) -> int:
        """Somebody tries a PIN: 0, and then `end` follows; or how many seconds they have to wait first."""
        guesses = self._of(address)
        if now < guesses.until:
            return math.ceil(guesses.until - now)
        if now - guesses.last >= FORGIVEN_S:
            guesses.pauses = 0
        guesses.wrong = [at for at in guesses.wrong if now - at < WINDOW_S]
        if len(guesses.wrong) + guesses.trying >= MOST:  # all at once would be through before one has failed
            return 1
        guesses.trying += 1
        return 0

    def end(self, address: str, right: bool, now: float) -> None:
        """What became of a try that was let begin."""
        guesses = self._of(address)
        guesses.trying = max(0, guesses.trying - 1)
        if right:
            return
        guesses.last = now
        guesses.wrong.append(now)
        if len(guesses.wrong) >= MOST:
            guesses.until = now + min(LONGEST_PAUSE_S, PAUSE_S * 2 ** min(guesses.pauses, 10))
            guesses.pauses += 1
            guesses.wrong = []

    def _of(self, address: str) -> _Guesses:
        party = _party(address)
        guesses = self._by.pop(party, _Guesses())
        self._by[party] = guesses  # at the end again: the longest unheard goes first
        if len(self._by) > MOST_ADDRESSES:
            del self._by[next(iter(self._by))]
        return guesses


def _party(address: str) -> str:
    """Who may be behind an address: in IPv6 one machine has a whole /64 to choose from (RFC 4291, 2.5.4)."""
    try:
        ip = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(ip, ipaddress.IPv4Address):
        return str(ip)
    return str(ip.ipv4_mapped or ipaddress.ip_network((ip, 64), strict=False))
