"""What a console drives where it is followed: read with the state, and no part of it."""

from collections.abc import Mapping
from typing import Protocol

__all__ = ["Console", "Follower"]


class Console(Protocol):
    """Knows what the followed console sends now."""

    def values(self, fixture: str) -> Mapping[str, int]:
        """Raw values by control key, of those controls that are its own while none of us drives them."""


class _Nobody:
    def values(self, fixture: str) -> Mapping[str, int]:
        return {}


_NOBODY: Console = _Nobody()


class Follower:
    """What reads the state may ask a console, too. Whoever changes it must not: it is never kept."""

    __slots__ = ("_console",)
    _console: Console

    @property
    def console(self) -> Console:
        """The one that is followed; nobody's values until somebody says who."""
        return getattr(self, "_console", _NOBODY)

    def follow(self, console: Console) -> None:
        """Read what this one sends from now on."""
        self._console = console
