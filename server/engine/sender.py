"""Where the engine puts its frames."""

from typing import Protocol

__all__ = ["Sender"]


class Sender(Protocol):
    """Where frames go: the output process's shared memory."""

    def write(self, universe: int, slots: bytes) -> None:
        """Put 512 slots down; nobody is woken."""

    def wake(self) -> None:
        """Say that something new lies there."""
