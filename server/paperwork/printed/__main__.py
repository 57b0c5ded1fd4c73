"""`python -m server.paperwork.printed`: a job on standard input, its PDF on standard output."""

import os
import sys
from contextlib import suppress

from reportlab import rl_config

from server.paperwork.printed.letters import Letters, font_of_the_system
from server.paperwork.printed.papers import draw
from server.paperwork.printed.rows import Job

__all__ = ["main"]


def main() -> int:
    """Draw one paper, behind everything else that this machine has to do."""
    with suppress(AttributeError, OSError):  # Windows has no such thing
        os.nice(10)
    rl_config.useA85 = (
        0  # octets as they are: a file a fifth smaller, and no time lost on making text of them
    )
    job = Job.from_json(sys.stdin.buffer.read())
    sys.stdout.buffer.write(draw(job, Letters(font_of_the_system())))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
