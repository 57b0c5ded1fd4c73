"""How often a writing process can be killed before something acknowledged is missing.

    python -m tests.bench.crashes [KILLS] [SEED]

Each kill (SIGKILL) comes at a moment drawn by chance: while the file is opened, read or written, or a
snapshot is put down. After each, the state read back is compared with what the acknowledged commands lead to.
"""

import os
import sys
import tempfile
import time
from pathlib import Path

from tests.journal.kills import kill_again_and_again

__all__ = ["main"]


def main() -> int:
    """Print the tally; returns the exit code, 1 when something was missing."""
    if os.name == "nt":
        print("This needs a system that can copy a process.", file=sys.stderr)
        return 1
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        try:
            tally = kill_again_and_again(Path(folder) / "show.sqlite", kills, seed)
        except AssertionError as lost:
            print(f"lost something: {lost}", file=sys.stderr)
            return 1
    took = time.monotonic() - began
    print(f"{tally.kills} kills in {took:.0f} s, {tally.busy} of them while something was being acknowledged")
    print(f"{tally.acknowledged} commands kept; nothing acknowledged was missing or out of order")
    return 0


if __name__ == "__main__":
    sys.exit(main())
