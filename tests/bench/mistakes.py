"""How often rigs with mistakes put in by chance are explained from five answers.

python -m tests.bench.mistakes [RIGS]
"""

import sys
import time

from tests.bench.show import table
from tests.rig.test_explained import SEEDED, tried

__all__ = ["main"]

PAIRS = (("swapped", "address"), ("mode", "one off"), ("ports", "silent"), ("reversed", "address"))


def main() -> None:
    """Print, by kind of mistake, how often the right explanation came first, and came at all."""
    rigs = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    rows = list[tuple[object, ...]]()
    for kinds in (*((kind,) for kind in SEEDED), *PAIRS):
        began = time.monotonic()
        places = [tried(kinds, number) for number in range(rigs)]
        each_ms = (time.monotonic() - began) / rigs * 1000
        rows.append((" and ".join(kinds), rigs, places.count(0), rigs - places.count(None), each_ms))
    table(("mistake", "rigs", "told first", "told at all", "ms each, test included"), rows)


if __name__ == "__main__":
    main()
