"""Kills a writing process again and again, and compares what is read back with what was acknowledged."""

import os
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from random import Random

from server.journal.show_file import reading
from server.journal.store import read_state
from server.places import package_folder
from server.stage.decide import Rules
from server.stage.stage import Stage
from server.stage.state import State
from tests.journal.writer import AT_ONCE, happened_at, number_of

__all__ = ["Tally", "kill_again_and_again"]


@dataclass(slots=True)
class Tally:
    """kills: so many. busy: of these, how many came while it was writing. acknowledged: commands."""

    kills: int = 0
    busy: int = 0
    acknowledged: int = 0


def kill_again_and_again(path: Path, kills: int, seed: int) -> Tally:
    """Kill a process that writes this show so many times, each time at a moment drawn by chance.

    Raises AssertionError: something acknowledged is missing, out of order, or there only in part.
    """
    chance, tally, model = Random(seed), Tally(), Stage(Rules())
    command = [sys.executable, "-m", "tests.journal.writer"]
    acknowledged = known = 0
    with subprocess.Popen(
        command,
        cwd=package_folder().parent,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        bufsize=1,
    ) as writer:
        assert writer.stdin is not None
        assert writer.stdout is not None
        for _ in range(kills):
            # After a time: often while it opens the file and reads. Or after an answer: while it writes.
            answers = chance.choice((0, chance.randint(1, 80)))
            writer.stdin.write(f"{path} {'' if answers else round(chance.uniform(0, 60), 3)}\n")
            before = acknowledged
            child = writer.stdout.readline()
            while child != "dead\n" and (line := writer.stdout.readline()) != "dead\n":
                assert int(line) == acknowledged + 1, "acknowledged out of order"
                acknowledged = int(line)
                if acknowledged == before + answers:
                    os.kill(int(child), signal.SIGKILL)
            tally.kills += 1
            tally.busy += acknowledged > before
            known = _check(path, model, known, acknowledged)
            acknowledged = known
        tally.acknowledged = acknowledged
        writer.stdin.close()
    return tally


def _check(path: Path, model: Stage, known: int, acknowledged: int) -> int:
    """Compare what is read back with what the commands lead to; returns the number of the last one kept."""
    read = State()
    if path.exists():  # else killed before the file was there
        with reading(path) as file:
            has_tables = file.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
            read = read_state(file)[0] if has_tables else read
    last = number_of(read)
    # What was asked and not answered may be kept or not, but only from the front.
    assert acknowledged <= last <= acknowledged + AT_ONCE, f"{acknowledged} acknowledged, {last} kept"
    for n in range(known + 1, last + 1):
        happened_at(model, n)
    assert read == model.state, f"not the state that the first {last} commands lead to"
    return last
