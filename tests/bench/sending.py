"""The budgets of sending: how evenly, and at what cost, beside the floor and the packages of others."""

from tests.bench.pacing import paced
from tests.bench.packet_cost import cost_us
from tests.bench.row import HZ, Row, closest, done, ours
from tests.bench.senders import FLOOR, OURS, Sender, under_fire

__all__ = ["costs", "evenness_rows", "under_fire_rows"]

EVEN_AT = (16, 64, 256)  # universes; all senders
COST_AT = (1, 4, 16, 64, 256, 512)  # ours and the floor; the others where they are compared
LARGEST = 512


def _compared(senders: list[Sender], universes: int) -> list[Sender]:
    return [s for s in senders if not s.missing and (universes in EVEN_AT or s.name in (OURS, FLOOR))]


def evenness_rows(senders: list[Sender], seconds: float) -> list[Row]:
    """How fast and how evenly each of them sends."""
    rows = []
    for n in (*EVEN_AT, LARGEST):
        found = {sender.name: paced(sender, n, seconds) for sender in _compared(senders, n)}
        rows += [
            Row(f"rate at {n} universes, Hz", *HZ, {k: f"{e.hz:.2f}" for k, e in found.items()}),
            Row(
                f"deviation p99 at {n}, ms",
                *(("1", "0.3") if n == 16 else ("", "")),
                {k: f"{e.p99_ms:.2f}" for k, e in found.items()},
            ),
            closest(f"{n} universes", found[OURS]),
        ]
        done(f"evenness at {n}")
    return rows


def costs(senders: list[Sender], seconds: float) -> list[Row]:
    """What a packet costs each of them, and one universe of ours among few and among many."""
    rows, own = [], dict[int, float]()
    for n in COST_AT:
        found = {sender.name: cost_us(sender, n, seconds) for sender in _compared(senders, n)}
        own[n], low = found[OURS], found.get(FLOOR)
        by = {k: f"{us / low:.2f}x" if low else f"{us:.1f} us" for k, us in found.items()}
        goals = ("2.0x", "1.2x") if n in EVEN_AT else ("", "")
        rows.append(Row(f"processor per packet at {n}, x {FLOOR}", *goals, by))
        done(f"cost at {n}")
    others = [n for n in COST_AT if n != 16]
    what = f"one universe at {', '.join(map(str, others))}, of one at 16"
    return [*rows, ours(what, "flat", "", " ".join(f"{own[n] / own[16]:.2f}" for n in others))]


def under_fire_rows(seconds: float) -> list[Row]:
    """How evenly ours sends while the web side never comes to rest."""
    found = paced(under_fire(), 16, seconds)
    done("under fire")
    return [
        ours("rate at 16, server at 100 %, Hz", *HZ, found.hz),
        ours("deviation p99 there, ms", "10", "4", found.p99_ms),
    ]
