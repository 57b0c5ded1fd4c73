"""Keeps events before they are acknowledged, on one writing thread."""

import asyncio
import queue
import sqlite3
import threading
import time
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from math import inf
from pathlib import Path

from server.journal.record import BOUND, Write
from server.journal.show_file import ShowFileError, copy_aside, open_show
from server.journal.words import event_from_text, event_to_text, state_from_text, state_to_text
from server.rig.said import Said
from server.stage import events
from server.stage.apply import apply
from server.stage.events import Event
from server.stage.state import State

__all__ = ["Journal", "NotKeptError", "read_state"]

LEVELS = (events.LevelsSet, events.SlotSet, events.MasterSet, events.Changed, events.ChangeEnded)
SYNC_S = 1.0  # at most so much of level changes is lost to a power cut (nothing to a crash)
SNAPSHOT_EVERY = 20_000  # events; reading so many back costs well under a second
SLOW_S = 3.0  # a disk that takes longer is told of; 64 dragging phones are kept in a hundredth of it
MOST_OWED = 100_000  # rows, about 20 MB: a minute of 64 dragging phones
GATHER_S = 0.02  # waking the writing thread costs more than writing: no more often than this
RECOVER_S = 2.0  # how often the whole state is tried once there are more


class NotKeptError(Exception):
    """The disk did not take it; `why` is the sentence for the lead."""

    def __init__(self, why: Said) -> None:
        super().__init__(why)
        self.why = why


_Row = tuple[float, str, str, bytes]
LEVEL_KINDS = frozenset(kind.__name__ for kind in LEVELS)
AT_A_TIME = 64  # rows a statement: each statement lets the interpreter go and waits to have it back
SLOW = Said(
    "The laptop's disk is slow: what was asked in the last seconds is not kept yet. The light follows; "
    "close what else uses the disk."
)


@dataclass(frozen=True, slots=True)
class _Batch:
    rows: list[_Row]
    record: Sequence[Write]
    levels_only: bool
    done: asyncio.Future[None]


@dataclass(frozen=True, slots=True)
class _Snapshot:
    body: bytes


class Journal:
    """One show's events. Read once at the start, then only written."""

    def __init__(self, path: Path) -> None:
        """Open the show. Raises journal.show_file.ShowFileError."""
        self._path, self._file = path, open_show(path)
        self._file.isolation_level = None  # a statement alone is a transaction; several say BEGIN
        self._queue: queue.SimpleQueue[list[_Batch] | _Snapshot | None] = queue.SimpleQueue()
        self._gathered: list[_Batch] = []
        self._again = -inf  # before that the thread is not woken once more
        self._since_snapshot = 0
        self._tried = 0.0  # when a snapshot was last asked for
        self._waiting: deque[float] = deque()  # when each batch came that has no answer yet
        # The writing thread's own; the other only looks at whether there is anything.
        self._owed: list[_Row] = []  # what a full disk did not take: goes first when it takes again
        self._owed_record: list[Write] = []
        self._forced: bool | None = None
        self._gap = False  # too much was owed: only the whole state makes the file right again
        self._refused: Said | None = None
        self._why = ""
        self._thread = threading.Thread(target=self._write, name="journal", daemon=True)

    def read(self) -> State:
        """The state as it was last, from the snapshot and what came after it. Starts the writing thread.

        Raises ShowFileError: what is written there cannot be read.
        """
        try:
            state, self._since_snapshot = read_state(self._file)
        except (sqlite3.Error, ValueError, LookupError, TypeError) as wrong:
            self._file.close()
            raise ShowFileError(
                f"The show cannot be read ({wrong}). Move {self._path} away, or put a copy from the folder "
                "backups in its place."
            ) from wrong
        self._thread.start()
        return state

    @property
    def path(self) -> Path:
        """The file, to be read by others beside whoever writes it."""
        return self._path

    def keep(
        self, happened: Sequence[Event], at: float, record: Sequence[Write] = ()
    ) -> asyncio.Future[None]:
        """Take the events down, in this order; the future is done once they are in the file.

        at: wall-clock seconds. record: what goes into the record of the day with them, or not at all.
        Fails with NotKeptError: the disk is full or gone. A crash of the program loses nothing kept here; a
        power cut may lose level changes of the last second, and nothing else.
        """
        done: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        rows = [(at, event.person, *event_to_text(event)) for event in happened]
        self._waiting.append(time.monotonic())
        done.add_done_callback(lambda _: self._waiting.popleft())  # they are answered in their order
        self._gathered.append(_Batch(rows, record, all(isinstance(e, LEVELS) for e in happened), done))
        if (early_s := self._again - time.monotonic()) <= 0:
            self._hand_on()
        elif len(self._gathered) == 1:
            done.get_loop().call_later(early_s, self._hand_on)
        self._since_snapshot += len(rows)
        return done

    def _hand_on(self) -> None:
        if self._gathered:
            self._again = time.monotonic() + GATHER_S
            self._queue.put(self._gathered)
            self._gathered = []

    @property
    def trouble(self) -> Said | None:
        """What the lead has to know about the disk now; None when all that was asked is kept."""
        if self._refused is not None:
            return self._refused
        late = self._waiting and time.monotonic() - self._waiting[0] > SLOW_S
        return SLOW if late else None

    def snapshot_if_due(self, state: State, every: int = SNAPSHOT_EVERY) -> None:
        """Write the whole state down after so many events, so that the next start need not replay them.

        To be called now and then also when nothing happens: after a disk that was full for long, the file is
        made right by it.
        """
        recover = self._gap and time.monotonic() - self._tried >= RECOVER_S
        if self._since_snapshot >= every or recover:
            self._hand_on()
            self._queue.put(_Snapshot(state_to_text(state)))
            self._since_snapshot, self._tried = 0, time.monotonic()

    def copy_aside(self, now: datetime) -> None:
        """Copy the show into the folder backups; from any thread. Raises OSError or sqlite3.Error."""
        copy_aside(self._path, now)

    def close(self, state: State) -> None:
        """Write a last snapshot, end the thread and close the file."""
        self.snapshot_if_due(state, every=0 if self._gap else 1)
        self._hand_on()
        self._queue.put(None)
        if self._thread.is_alive():
            self._thread.join()
        self._file.close()

    def _write(self) -> None:
        loose = False  # level changes lie in the file but are not yet forced to the disk
        synced = time.monotonic()
        while True:
            work = self._next(SYNC_S if loose else None)
            ending = None in work
            batches = [batch for w in work if isinstance(w, list) for batch in w]
            late = time.monotonic() - synced >= SYNC_S
            force = (loose and late) or not all(b.levels_only for b in batches)
            rows, record = [row for b in batches for row in b.rows], [w for b in batches for w in b.record]
            failed = self._commit(rows, record, force) if batches or loose else None
            if force and failed is None:
                loose, synced = False, time.monotonic()
            elif batches:
                loose = True
            _tell([batch.done for batch in batches], failed)
            for snapshot in (w for w in work if isinstance(w, _Snapshot)):
                self._put_snapshot(snapshot)
            if ending:
                return

    def _next(self, timeout_s: float | None) -> list[list[_Batch] | _Snapshot | None]:
        try:
            work = [self._queue.get(timeout=timeout_s)]
        except queue.Empty:
            return []
        while not self._queue.empty() and not isinstance(work[-1], _Snapshot):
            work.append(self._queue.get())
        return work

    def _commit(self, rows: list[_Row], record: list[Write], force: bool) -> NotKeptError | None:
        try:
            if self._gap:
                raise sqlite3.OperationalError(self._why)
            self._force(force)
            writes = [*_inserts(self._owed + rows), *self._owed_record, *record]
            if force:  # even with nothing to put: what lies there loose goes to the disk with it
                writes.append(("INSERT OR REPLACE INTO synced VALUES (1, ?)", (time.time(),)))
            with self._file:
                if len(writes) > 1:
                    self._file.execute("BEGIN")
                for write in writes:
                    self._file.execute(*write)
        except sqlite3.Error as wrong:
            self._owe(rows, record)
            self._why = str(wrong)
            self._refused = Said(
                "The laptop's disk did not take it ({why}). Free some space; the light stays.", why=self._why
            )
            return NotKeptError(self._refused)
        self._owed, self._owed_record, self._refused = [], [], None
        return None

    def _force(self, force: bool) -> None:
        """In WAL mode NORMAL leaves a commit in the system's cache, FULL forces it to the disk."""
        if force != self._forced:
            self._file.execute(f"PRAGMA synchronous = {'FULL' if force else 'NORMAL'}")
            self._forced = force

    def _owe(self, rows: list[_Row], record: list[Write]) -> None:
        self._owed += rows
        self._owed_record = (self._owed_record + record)[-MOST_OWED:]
        if len(self._owed) > MOST_OWED or self._gap:
            # The record of what people did stays whole. Levels come with the next snapshot, without which
            # nothing may be written any more: what came later would be applied to another state.
            self._owed = [row for row in self._owed if row[2] not in LEVEL_KINDS][-MOST_OWED:]
            self._gap = True

    def _put_snapshot(self, snapshot: _Snapshot) -> None:
        """Everything queued before it is in the file or owed by now, so with that it stands for all of it."""
        levels = ", ".join(f"'{kind}'" for kind in sorted(LEVEL_KINDS))
        try:
            self._force(True)
            with self._file:
                self._file.execute("BEGIN")
                for write in [*_inserts(self._owed), *self._owed_record]:
                    self._file.execute(*write)
                before = self._file.execute("SELECT coalesce(max(seq), 0) FROM snapshot").fetchone()
                self._file.execute(
                    "INSERT OR REPLACE INTO snapshot SELECT 1, coalesce(max(seq), 0), ? FROM event",
                    (snapshot.body,),
                )
                # The record of the day keeps what people did; where a fader passed through is not of it.
                self._file.execute(
                    f"DELETE FROM event WHERE kind IN ({levels}) AND seq >= ? "  # noqa: S608
                    "AND seq < (SELECT max(seq) FROM event)",
                    before,
                )
                self._file.execute(BOUND)
        except sqlite3.Error:
            return  # nothing is lost: what happened is in the file or owed, and the next snapshot comes
        self._owed, self._owed_record, self._gap, self._refused = [], [], False, None


def read_state(file: sqlite3.Connection, until: float = inf) -> tuple[State, int]:
    """The state as it was last, and how many events that is after the last snapshot.

    until: monotonic seconds, when to give it up with ValueError. Raises that, sqlite3.Error, LookupError or
    TypeError: it cannot be read.
    """
    state, seq, later = State(), 0, 0
    file.execute("BEGIN")  # one moment of it: between two looks another thread could write a snapshot
    try:
        for seq, body in file.execute("SELECT seq, body FROM snapshot"):  # noqa: B007 (one row or none)
            state = state_from_text(body)
        rows = file.execute("SELECT kind, body FROM event WHERE seq > ? ORDER BY seq", (seq,))
        for later, (kind, body) in enumerate(rows, 1):  # noqa: B007 (counted)
            apply(state, event_from_text(kind, body))
            if time.monotonic() > until:
                raise ValueError("it takes too long")
    finally:
        file.execute("ROLLBACK")
    return state, later


def _inserts(rows: list[_Row]) -> Iterator[Write]:
    for start in range(0, len(rows), AT_A_TIME):
        some = rows[start : start + AT_A_TIME]
        every = ", ".join(["(?, ?, ?, ?)"] * len(some))
        insert = f"INSERT INTO event (at, person, kind, body) VALUES {every}"  # noqa: S608
        yield insert, tuple(field for row in some for field in row)


def _tell(waiting: list[asyncio.Future[None]], failed: NotKeptError | None) -> None:
    """In one call for all of them: each wakes the loop."""

    def answer(these: list[asyncio.Future[None]]) -> None:
        for done in these:
            if done.done():
                continue
            if failed is None:
                done.set_result(None)
            else:
                done.set_exception(failed)

    for loop, these in groupby(waiting, lambda done: done.get_loop()):
        if not loop.is_closed():
            loop.call_soon_threadsafe(answer, list(these))
