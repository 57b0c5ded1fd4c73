"""`python -m server.output MAPFILE`: the output process."""

import os
import signal
import sys
from pathlib import Path

from server.output.lock import FileLock
from server.output.process import OutputProcess

__all__ = ["main"]


def main(arguments: list[str]) -> int:
    """Send what the shared map asks for until told to end; 0 is a proper end."""
    if len(arguments) != 1:
        print("Give the file of the shared map: python -m server.output MAPFILE", file=sys.stderr)
        return 2
    path = Path(arguments[0])
    try:
        lock = FileLock(path.with_suffix(".lock"))
    except OSError:
        print("Another output process already sends from this file.", file=sys.stderr)
        return 1
    output = OutputProcess(path)
    # Ctrl-C is the web side's to answer: it ends both in order.
    for name in ("SIGINT", "SIGHUP", "SIGBREAK"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    signal.signal(signal.SIGTERM, lambda *_: output.ask_end())
    _raise_priority()
    output.run()
    lock.release()
    return 0


def _raise_priority() -> None:
    try:
        if sys.platform == "win32":
            import ctypes

            ctypes.windll.winmm.timeBeginPeriod(1)  # else every wait ends on a tick of 15.6 ms
            ctypes.windll.kernel32.SetPriorityClass(ctypes.c_void_p(-1), 0x8000)  # above normal
        else:
            os.nice(-5)
    except OSError:
        pass  # most systems ask for a privilege; it is worth having, not worth failing for


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
