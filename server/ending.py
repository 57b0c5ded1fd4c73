"""How the server ends: Ctrl-C asks first while somebody is aloft, whose light would go."""

import signal
import sys
import time
from collections.abc import Callable
from types import FrameType

import uvicorn

__all__ = ["Ending"]

SURE_S = 10.0  # so soon after the question a second Ctrl-C is the answer


class Ending(uvicorn.Server):
    """The HTTP server, which ends no streams under somebody aloft unless it is told twice.

    keep: whether the streams are to go on without it, because nobody could be asked.
    """

    def __init__(self, config: uvicorn.Config, aloft: Callable[[], str], broken: Callable[[], bool]) -> None:
        """aloft: names of those who are, "" when nobody is. broken: whether it ends by itself."""
        super().__init__(config)
        self.keep = False
        self._aloft, self._broken, self._asked = aloft, broken, -SURE_S

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """What a signal does. Once it is ending it does so in order, however often it is told."""
        if self.should_exit:
            return
        names, now = self._aloft(), time.monotonic()
        if names and not self._broken():
            if sig != signal.SIGINT:
                self.keep = True  # the system stops us: whoever is aloft keeps their light
            elif now - self._asked >= SURE_S:
                self._asked = now
                print(
                    f"Somebody is aloft ({names}). Ending the streams may take their light. Press Ctrl-C "
                    f"once more within {SURE_S:g} s if you mean it.",
                    file=sys.stderr,
                    flush=True,
                )
                return
        super().handle_exit(sig, frame)
        self.force_exit = False  # as it would if a second signal came while this one is looked at
