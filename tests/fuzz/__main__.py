"""Lets libFuzzer search one target, guided by which lines of the server its inputs reach.

    python3 -m tests fuzz NAME SECONDS

What it finds is written to the working directory; `python3 -m tests fuzz NAME FILE` tries it again.
"""

import importlib
import sys
import tempfile
from pathlib import Path

import atheris

__all__ = ["main"]

SLOWEST_S = 5  # for one input: nothing that is sent may keep the server from anybody for longer
LONGEST = 4096  # octets of an input; caps on larger things have tests of their own
MOST_MB = 2048


def main() -> None:
    """Search; libFuzzer ends the process, with a report, and with an input when the promise was broken."""
    name, what = sys.argv[1], sys.argv[2]
    with atheris.instrument_imports(include=["server", "tomllib", "zipfile"]):
        target = importlib.import_module(f"tests.fuzz.{name}")
    if Path(what).is_file():
        target.one(Path(what).read_bytes())
        return
    with tempfile.TemporaryDirectory() as scratch:
        corpus, words = Path(scratch) / "corpus", Path(scratch) / "words"
        corpus.mkdir()
        for at, seed in enumerate(target.SEEDS):
            (corpus / f"seed{at}").write_bytes(seed)
        words.write_text("".join(f'"{_escaped(word)}"\n' for word in getattr(target, "WORDS", ())))
        limits = [f"-max_total_time={what}", f"-timeout={SLOWEST_S}", f"-rss_limit_mb={MOST_MB}"]
        more = [f"-max_len={max(LONGEST, *map(len, target.SEEDS))}", "-print_final_stats=1"]
        more += [f"-dict={words}"] if words.stat().st_size else []
        atheris.Setup([sys.argv[0], *limits, *more, str(corpus)], target.one)
        atheris.Fuzz()


def _escaped(word: bytes) -> str:
    return "".join(f"\\x{octet:02x}" for octet in word)


if __name__ == "__main__":
    main()
