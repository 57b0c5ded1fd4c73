"""Reads files from strangers in a process of its own: `python -m server.paperwork.reader`, jobs by line.

A job is a line of JSON on the standard input, an answer a line on the standard output. What a file does to
this process (memory, time) it does to no other, and light never waits for it.
"""

import contextlib
import hashlib
import json
import os
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from server.paperwork.bundle import files_in, held_in, is_bundle
from server.paperwork.mvr import embedded, read_mvr
from server.paperwork.problems import Problem
from server.paperwork.profile_json import digest_of, profile_to_json
from server.paperwork.read_profile import FILE_MOST, ZIP, read_profile
from server.paperwork.shelf import Shelf

__all__ = ["JOBS", "main"]

MEMORY_MOST = 2**30  # octets; what is let in takes 130 MB at the most
Job = dict[str, Any]
Answers = Iterator[Job]


def main() -> int:
    """Serve jobs until the input ends."""
    _limit()
    for line in sys.stdin:
        job = json.loads(line)
        try:
            for answer in JOBS[job["do"]](job):
                _say(answer)
        except MemoryError:
            _say({"failed": "The file needs more memory than reading may take."})
        _say({"done": True})
    return 0


def _limit() -> None:
    with contextlib.suppress(ImportError, OSError, ValueError):
        import resource  # not on Windows

        os.nice(10)  # light first
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_MOST, MEMORY_MOST))


def _say(answer: Job) -> None:
    sys.stdout.write(json.dumps(answer) + "\n")
    sys.stdout.flush()


def _profile(job: Job) -> Answers:
    """One profile file, or word that it is an archive of many."""
    data = Path(job["path"]).read_bytes()
    if is_bundle(data):
        yield {"many": True}
        return
    profile, problems = read_profile(data)
    yield {"profile": profile and profile_to_json(profile), "problems": _shown(problems)}


def _shelve(job: Job) -> Answers:
    """Put the files of these paths on the shelf; one answer for each."""
    shelf = Shelf(Path(job["shelf"]))
    try:
        for path in job["paths"]:
            yield {"name": Path(path).name} | _shelved(shelf, Path(path))
    finally:
        shelf.close()


def _shelved(shelf: Shelf, path: Path) -> Job:
    try:
        told = path.stat()
        shelf.begin(str(path), (told.st_mtime_ns, told.st_size))
        if told.st_size > FILE_MOST:
            data, problems = b"", [Problem("", f"is larger than {FILE_MOST // 2**20} MiB")]
            profile = None
        else:
            data = path.read_bytes()
            profile, problems = read_profile(data)
    except OSError as wrong:
        return {"key": None, "problems": [{"where": "", "why": f"cannot be read ({wrong.strerror})"}]}
    key = shelf.keep(str(path), hashlib.sha256(data).hexdigest(), profile, problems)
    return {"key": key, "problems": _shown(problems)}


def _take_in(job: Job) -> Answers:
    """Copy profile files, and those inside archives, into a folder and onto the shelf; one answer for each.

    What cannot be used is not copied. skip: so many have been answered before. kept: the digest of
    each profile that would hide another of its key. Before the files of an archive: how many it holds.
    """
    shelf, folder, skip = Shelf(Path(job["shelf"])), Path(job["folder"]), job.get("skip", 0)
    folder.mkdir(parents=True, exist_ok=True)
    try:
        for given, name in zip(job["paths"], job["names"], strict=True):
            data = Path(given).read_bytes()
            inside: Iterator[tuple[str, bytes | Problem]] = iter([(name, data)])
            if is_bundle(data):
                inside = files_in(data)
                yield {"archive": name, "holds": held_in(data)}
            for each, content in inside:
                skip -= 1
                if skip >= 0:
                    continue
                if isinstance(content, Problem):
                    yield {"name": each or name, "key": None, "problems": _shown([content])}
                else:
                    yield {"name": each} | _taken_in(shelf, folder, each, content, job.get("kept", {}))
    finally:
        shelf.close()


def _taken_in(shelf: Shelf, folder: Path, name: str, data: bytes, kept: dict[str, str]) -> Job:
    profile, problems = read_profile(data)
    if profile is None:
        return {"key": None, "problems": _shown(problems)}
    if profile.key in kept and kept[profile.key] != digest_of(profile):
        profile = replace(profile, key=f"{profile.key[:70]}-{hashlib.sha256(data).hexdigest()[:8]}")
    path = folder / place_for(name, data)
    path.write_bytes(data)
    told = path.stat()
    shelf.begin(str(path), (told.st_mtime_ns, told.st_size))
    key = shelf.keep(str(path), hashlib.sha256(data).hexdigest(), profile, problems)
    return {"key": key, "problems": _shown(problems)}


def _drawing(job: Job) -> Answers:
    """An MVR file: its fixture types one by one, each put into the folder as well, then everything else."""
    path, folder = Path(job["path"]), Path(job["folder"])
    drawing = read_mvr(path)
    files = embedded(path, {unit.spec for unit in drawing.units if unit.spec})
    for number, (spec, content) in enumerate(files.items()):
        if isinstance(content, Problem):
            yield {"spec": spec, "profile": None, "problems": _shown([content])}
            continue
        profile, problems = read_profile(content)
        file = folder / f"embedded-{number}"
        file.write_bytes(content)
        shown = {"profile": profile and profile_to_json(profile), "problems": _shown(problems)}
        yield {"spec": spec, "file": str(file), **shown}
    yield {
        "units": [asdict(unit) for unit in drawing.units],
        "problems": _shown(drawing.problems),
        "left_out": _shown(drawing.left_out),
    }


def place_for(name: str, data: bytes) -> str:
    """A file name for what was handed in: plain, and the same only for the same contents."""
    stem = re.sub(r"[^A-Za-z0-9@_-]+", "-", Path(name).stem).strip("-")[:60] or "profile"
    kind = "gdtf" if data[:2] == ZIP else "json"
    return f"{stem}-{hashlib.sha256(data).hexdigest()[:8]}.{kind}"


def _shown(problems: list[Problem]) -> list[dict[str, str]]:
    return [{"where": problem.where, "why": problem.why} for problem in problems]


JOBS: dict[str, Callable[[Job], Answers]] = {
    "profile": _profile,
    "shelve": _shelve,
    "take in": _take_in,
    "drawing": _drawing,
}

if __name__ == "__main__":
    sys.exit(main())
