"""Run the tests: `python3 -m tests` and what pytest takes; `bench [NAME]`, `fuzz [NAME]` or `screenshots`."""

import sys

__all__ = ["main"]

if sys.version_info < (3, 11):
    sys.exit(
        "focuscall: this is Python %d.%d; install Python 3.11 or newer and give the same command with that."
        % (sys.version_info[0], sys.version_info[1])
    )

import os
import platform
import subprocess
from pathlib import Path

from server.environment import ensure

TESTS = Path(__file__).resolve().parent


def main(arguments: "list[str]") -> int:
    """Run what was asked for inside the environment; returns the exit code."""
    ensure(TESTS.parent, extras=("test",))
    if arguments[:1] == ["bench"]:
        return bench(arguments[1:])
    if arguments[:1] == ["fuzz"]:
        return fuzz(arguments[1:])
    if arguments[:1] == ["screenshots"]:
        return run("tests.web.screenshots", arguments[1:])
    import pytest  # only importable inside the environment

    return int(pytest.main(arguments))


def bench(arguments: "list[str]") -> int:
    """Run one benchmark with its own arguments, or all of them in turn; returns the worst exit code."""
    files = (TESTS / "bench").glob("*.py")
    known = sorted(path.stem for path in files if '== "__main__"' in path.read_text(encoding="utf-8"))
    if arguments and arguments[0] in known:
        return run("tests.bench." + arguments[0], arguments[1:])
    if arguments:
        print("No such benchmark. There are: " + ", ".join(known), file=sys.stderr)
        return 2
    print("%s, %s cores, Python %s" % (platform.platform(), os.cpu_count(), platform.python_version()))
    worst = 0
    for name in known:
        print("\n== " + name, flush=True)
        worst = max(worst, run("tests.bench." + name, []))
    return worst


def fuzz(arguments: "list[str]") -> int:
    """Search one target for so many seconds (60), or all of them in turn; returns the worst exit code."""
    ensure(TESTS.parent, extras=("test", "fuzz"))
    files = (TESTS / "fuzz").glob("[!_]*.py")
    known = sorted(path.stem for path in files if not path.stem.startswith("test_"))
    names = [name for name in arguments[:1] if name in known]
    rest = arguments[len(names) :]
    if rest and not names and not rest[0].isdigit():
        print("No such target. There are: " + ", ".join(known), file=sys.stderr)
        return 2
    worst = 0
    for name in names or known:
        print("\n== " + name, flush=True)
        worst = max(worst, run("tests.fuzz", [name, *(rest or ["60"])]))
    return worst


def run(module: str, arguments: "list[str]") -> int:
    """Run a module of the tests as a program of its own; returns its exit code."""
    return subprocess.call([sys.executable, "-m", module, *arguments])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
