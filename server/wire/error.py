"""The one way in which received bytes are refused."""

__all__ = ["WireError"]


class WireError(ValueError):
    """These bytes are not a packet we may act on. Counted, shown, ignored.

    octet: where reading stopped, from 0. why: one phrase. clause: the standard and clause that asks for it.
    """

    def __init__(self, octet: int, why: str, clause: str) -> None:
        super().__init__(f"octet {octet}: {why} ({clause})")
        self.octet = octet
        self.why = why
        self.clause = clause
