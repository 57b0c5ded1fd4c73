"""On what terms a universe leaves this laptop beside a console."""

from dataclasses import dataclass

__all__ = ["SILENT", "USUAL", "Terms"]


@dataclass(frozen=True, slots=True)
class Terms:
    """One universe. sacn, artnet: whether it is sent so at all. priority: of our sACN packets; None: each
    output's own. per_slot: each slot's priority is sent, too (START code 0xDD).
    """

    sacn: bool = True
    artnet: bool = True
    priority: int | None = None
    per_slot: bool = False


USUAL = Terms()
SILENT = Terms(sacn=False, artnet=False)
