"""Keeps the shelf in step with folders of profile files: looked at now and then, read in another process."""

import asyncio
import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import aclosing
from os import DirEntry, scandir
from pathlib import Path

from server.paperwork.apart import ReadingFailed, answers
from server.paperwork.shelf import Shelf, Stamp

__all__ = ["Stock"]

LOOK_S = 5.0  # between looks; one costs a call for each folder
LOOK_CLOSELY_EVERY = 12  # looks at each file, for those whose contents changed in place
FILES_MOST = 50_000
DEEPEST = 4  # folders inside folders
AT_ONCE = 500  # files in one reading process, so that whatever it gathers is given back
FAILURES_MOST = 100  # reading processes that ended before their time, until the next look
KINDS = (".gdtf", ".json")


class Stock:
    """Some folders and the shelf that is filled from them.

    left: files still to be read. folder: the first of the folders, where what is handed in is kept.
    """

    def __init__(self, shelf: Shelf, folders: Sequence[Path]) -> None:
        self.shelf, self.left = shelf, 0
        self.folder, self._folders = folders[0], folders
        self._seen: dict[str, int] = {}

    async def run(self) -> None:
        """Look again and again until cancelled."""
        looks = 0
        while True:
            closely = looks % LOOK_CLOSELY_EVERY == 0
            # A full disk or a lost folder must not end the show that this runs beside; it is tried again.
            with contextlib.suppress(OSError, sqlite3.Error, ValueError):
                if closely or await asyncio.to_thread(self._moved):
                    await self.take()
            looks += 1
            await asyncio.sleep(LOOK_S)

    async def take(self) -> None:
        """Bring the shelf up to what lies in the folders now."""
        there = await asyncio.to_thread(self._look)
        known = await asyncio.to_thread(self.shelf.known)
        news = [path for path, stamp in there.items() if known.get(path) != stamp]
        gone = [path for path in known if path not in there]
        if gone or news:
            await asyncio.to_thread(self.shelf.forget, [*gone, *(path for path in news if path in known)])
        self.left = len(news)
        failures = 0
        while news and failures < FAILURES_MOST:
            some, news = news[:AT_ONCE], news[AT_ONCE:]
            read = 0
            try:
                job = {"do": "shelve", "shelf": str(self.shelf.path), "paths": some}
                async with aclosing(answers(job)) as given:
                    async for _ in given:
                        read += 1
                        self.left -= 1
            except ReadingFailed:
                # The shelf has written down which file it was, and that one is not tried again.
                self.left -= 1
                failures += 1
                news = [*some[read + 1 :], *news]
        self.left = 0

    def _moved(self) -> bool:
        """Whether any folder has got or lost a file."""
        now = {str(folder): folder.stat().st_mtime_ns for folder in self._folders if folder.is_dir()}
        inside = {path: Path(path).stat().st_mtime_ns for path in self._seen if Path(path).is_dir()}
        return {**inside, **now} != self._seen

    def _look(self) -> dict[str, Stamp]:
        self._seen = {}
        found: dict[str, Stamp] = {}
        for folder in self._folders:
            for entry in self._files(folder, 0):
                if len(found) < FILES_MOST:
                    told = entry.stat()
                    found[entry.path] = (told.st_mtime_ns, told.st_size)
        return found

    def _files(self, folder: Path, depth: int) -> Iterator[DirEntry[str]]:
        try:
            self._seen[str(folder)] = folder.stat().st_mtime_ns
            with scandir(folder) as entries:
                for entry in sorted(entries, key=lambda each: each.name):
                    if entry.is_dir(follow_symlinks=False) and depth < DEEPEST:
                        yield from self._files(Path(entry.path), depth + 1)
                    elif entry.name.casefold().endswith(KINDS) and entry.is_file():
                        yield entry
        except OSError:
            return  # not there, or not for us to read; it may be next time
