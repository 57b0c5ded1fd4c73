"""A million random commands by crew and house, each frame judged for what must never leave.

python -m tests.bench.never [COMMANDS]
"""

import sys
import time

from tests.bench.show import table
from tests.engine.crowd import Crowd

__all__ = ["main"]

EACH = 10_000  # commands per show; then a new one with another seed


def main() -> int:
    """Print what was asked, done and seen; the exit code is 1 when the judge saw something wrong."""
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    began, asked, done, frames = time.monotonic(), 0, 0, 0
    wrong: list[str] = []
    for seed in range(1000, 1000 + -(-wanted // EACH)):
        crowd = Crowd(seed)
        crowd.play(min(EACH, wanted - asked))
        asked, done, frames = asked + crowd.asked, done + crowd.done, frames + crowd.frames
        wrong += [f"seed {seed}: {what}" for what in crowd.judge.wrong[:3]]
    took = time.monotonic() - began
    table(("commands", "done", "frames", "wrong", "seconds"), [(asked, done, frames, len(wrong), took)])
    print(*wrong, sep="\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
