"""Start focuscall: `python3 -m server`. The first run makes the environment, every run serves."""

import gc
import sys

__all__ = ["main"]

if sys.version_info < (3, 11):
    sys.exit(
        "focuscall: this is Python %d.%d; install Python 3.11 or newer and give the same command with that."
        % (sys.version_info[0], sys.version_info[1])
    )

from server.environment import ensure
from server.places import package_folder


def main() -> int:
    """Run the command line; returns the exit code."""
    ensure(package_folder().parent)
    gc.disable()  # nothing of what is loaded now is waste; once it serves, the collector goes on
    from server.start import run  # only importable inside the environment

    return run(sys.argv[1:])


if __name__ == "__main__":
    sys.exit(main())
