"""Where the engine puts its frames."""

from typing import Protocol

__all__ = ["Sender"]


class Sender(Protocol):
    """Where frames go: the output process's shared memory."""

    def write(self, universe: int, slots: bytes, each: bytes = b"") -> None:
        """Put 512 slots down, and the priority of each, 0 where it is not ours; nobody is woken."""

    def wake(self) -> None:
        """Say that something new lies there."""
