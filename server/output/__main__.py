"""`python -m server.output MAPFILE`: the output process."""

import signal
import sys
from pathlib import Path

from server.output.lock import FileLock
from server.output.priority import raise_priority
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
    raise_priority()
    output.run()
    lock.release()
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
