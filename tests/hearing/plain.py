"""What a universe shows, said a second time: dicts and loops, from the standards' own sentences."""

from collections.abc import Iterable
from dataclasses import dataclass, field

__all__ = ["Heard", "Plain", "late"]

LOSS_S, ARTNET_LOSS_S, ARTNET_PRIORITY = 2.5, 10.0, 100


def late(last: int, new: int) -> bool:
    """E1.31-2018, 6.7.2: the 8-bit two's complement of B - A, discarded where it is over -20 and up to 0."""
    octet = (new - last) & 0xFF
    signed = octet - 256 if octet & 0x80 else octet
    return -20 < signed <= 0


@dataclass
class Heard:
    """One source. levels, each: by slot, 1 to 512; None: none came."""

    came: float
    last: float
    sequence: int
    priority: int
    levels: dict[int, int] | None = None
    levels_at: float = -1e9
    each: dict[int, int] | None = None
    each_at: float = -1e9


@dataclass
class Plain:
    """One universe."""

    sacn: dict[str, Heard] = field(default_factory=dict)
    artnet: dict[str, Heard] = field(default_factory=dict)

    def hear_sacn(
        self, cid: str, now: float, sequence: int, priority: int, octets: list[int], kind: str
    ) -> None:
        """kind: levels, preview, each (0xDD) or end."""
        known = self.sacn.get(cid)
        if known and now - known.last >= LOSS_S:
            known = None
            del self.sacn[cid]
        if known and late(known.sequence, sequence):
            return
        if kind == "end":
            self.sacn.pop(cid, None)
            return
        if not known:
            known = self.sacn[cid] = Heard(now, now, sequence, priority)
        known.last, known.sequence, known.priority = now, sequence, priority
        by_slot = dict(enumerate(octets, 1))
        if kind == "levels":
            known.levels, known.levels_at = by_slot, now
        elif kind == "each":
            known.each, known.each_at = by_slot, now

    def hear_artnet(self, who: str, now: float, sequence: int, octets: list[int]) -> None:
        """Sequence 0 does not count."""
        known = self.artnet.get(who)
        if known and now - known.last >= ARTNET_LOSS_S:
            known = None
            del self.artnet[who]
        if known and sequence and known.sequence and late(known.sequence, sequence):
            return
        if not known:
            known = self.artnet[who] = Heard(now, now, sequence, ARTNET_PRIORITY)
        known.last, known.sequence = now, sequence
        known.levels, known.levels_at = dict(enumerate(octets, 1)), now

    def shows(self, now: float, slots: Iterable[int]) -> dict[int, tuple[int, int, str]]:
        """Level, priority and driver of these slots; those that nobody drives are left out."""
        drive = [(cid, self.sacn[cid]) for cid in sorted(self.sacn)]
        drive = [one for one in drive if now - one[1].levels_at < LOSS_S]
        there = [
            (heard.came, who) for who, heard in self.artnet.items() if now - heard.levels_at < ARTNET_LOSS_S
        ]
        two = [(who, self.artnet[who]) for who in sorted(who for _, who in sorted(there)[:2])]
        found: dict[int, tuple[int, int, str]] = {}
        for slot in slots:
            best: tuple[int, int, str] | None = None
            for who, heard in [*two, *drive]:
                priority = heard.priority
                if heard.each is not None and now - heard.each_at < LOSS_S:
                    priority = min(heard.each.get(slot, 0), 200)
                    if priority == 0:
                        continue
                level = (heard.levels or {}).get(slot, 0)
                if best is None or (priority, level) > best[1::-1]:
                    best = level, priority, who
            if best is not None:
                found[slot] = best
        return found
