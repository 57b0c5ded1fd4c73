"""The web side's end of the output: hands it pictures, and finds its process again after a restart."""

import contextlib
import os
import socket
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from pathlib import Path
from time import monotonic, sleep
from typing import Self

from server.output.lock import FileLock
from server.output.plan import Plan, UniversePlan, from_json, to_json
from server.output.shared_map import ENDED, FRESH, RUNNING, SLOTS, VERSION, Octets, SharedMap

__all__ = ["Counts", "Output", "OutputBusy", "OutputFailed"]

_START_S = 10.0
_END_S = 2.0
_LOOK_S = 0.005
_SEEN_S = 0.0002  # what is written so long before the process looks is there for it to see
_SOON_S = 0.1  # no promise is for later
_HUNG_S = 3.0
_STOOD_S = 2.0  # between two looks: then it was this side that stood still, as on a laptop that slept
# Ctrl-C in the terminal is for the web side, which ends both in order. This is Windows; POSIX has sessions.
_GROUP = getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)
_PROJECT = Path(__file__).resolve().parents[2]


class OutputBusy(RuntimeError):
    """Another server is alive and holds this folder's output."""


class OutputFailed(RuntimeError):
    """The output process did not start, or did not go."""


@dataclass(frozen=True, slots=True)
class Counts:
    """What became of one universe: frames sent, packets that did not leave, and when the last frame did.

    last_sent_s is on the clock of `time.monotonic`; 0.0 is never.
    """

    frames: int
    errors: int
    last_sent_s: float


class Output:
    """Feeds the output process of one data folder. Not for several threads at once.

    taken_over: whether the process was alive before, and has been sending ever since. running: the universes
    that it sends since then, as they are planned.
    """

    def __init__(self, folder: Path, lock: FileLock, shared: SharedMap, taken_over: bool) -> None:
        """Use `Output.start`."""
        self.taken_over = taken_over
        self.running: tuple[UniversePlan, ...] = ()
        self._folder = folder
        self._lock = lock
        self._map = shared
        self._child: subprocess.Popen[bytes] | None = None
        self._down = ""
        self._looked = self._awake_since = monotonic()
        self._blocks: dict[int, int] = {}
        self._looks = inf  # the soonest promised of what was written since the last wake
        self._writing = False
        self._waker = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self._waker.setblocking(False)
        self._map.set_number("web_pid", os.getpid())
        self._map.set_time("web_beat", monotonic())

    @classmethod
    def start(cls, folder: Path) -> Self:
        """Attach to the living output process of this folder, or start one. Blocks for about 0.1 s.

        A new process sends nothing before `set_plan`, and no universe before its picture is there: after a
        crash of both that is the last one written, after a proper end the next one written.

        Raises OutputBusy: another server that lives uses this folder. Raises OutputFailed: the process cannot
        be started, or one of another version does not go. Raises OSError: the folder cannot be written.
        """
        folder.mkdir(parents=True, exist_ok=True)
        try:
            lock = FileLock(folder / "output-server.lock")
        except OSError as why:
            raise OutputBusy(
                "Another server is already running this rig from the same data folder. "
                "Stop it first, or start this one with a folder of its own."
            ) from why
        try:
            return cls._start(folder, lock)
        except BaseException:
            lock.release()
            raise

    @classmethod
    def _start(cls, folder: Path, lock: FileLock) -> Self:
        path = folder / "output.map"
        lives = _process_lives(folder)
        try:
            shared = SharedMap(path)
        except (OSError, ValueError) as why:
            if lives:
                raise OutputFailed(f"An output process is running, but {path} is not its map.") from why
            SharedMap.create(path)
            shared = SharedMap(path)
        if lives and _is_of_use(shared):
            output = cls(folder, lock, shared, taken_over=True)
        else:
            if lives:
                _end_stranger(folder, shared)
            if shared.number("version") != VERSION:
                shared.close()
                SharedMap.create(path)
                shared = SharedMap(path)
            output = cls(folder, lock, shared, taken_over=False)
            output._start_afresh()
        output._blocks = {
            universe: block for universe, block in output._held_blocks().items() if shared.has_picture(block)
        }
        if output.taken_over and (published := shared.plan()) is not None:
            planned = from_json(published[1]).universes
            output.running = tuple(one for one in planned if one.outputs and one.universe in output._blocks)
        return output

    def _start_afresh(self) -> None:
        shared = self._map
        if shared.number("state") == ENDED:
            for block in range(len(shared.versions)):
                shared.forget(block)
        shared.set_number("plan_version", 0)  # what was planned last time may be for another venue
        self._spawn()
        came_up = _until(lambda: shared.number("state") == RUNNING or not self._runs(), _START_S)
        if not came_up or not self._runs():
            raise OutputFailed(f"The output process did not come up: {self._log_end()}")

    @property
    def pid(self) -> int:
        """The output process's number."""
        return self._map.number("pid")

    @property
    def artnet_port(self) -> int:
        """The port that its Art-Net leaves from; 0 while nobody knows."""
        return self._map.number("artnet_port")

    def set_plan(self, plan: Plan) -> None:
        """Follow this plan from now on.

        Universes that run already keep picture and sequence; one that is not in the plan any more gets its
        three terminated packets and loses its picture.  Raises ValueError: the plan is larger than 1 MiB.
        """
        text = to_json(plan)
        wanted = {planned.universe for planned in plan.universes}
        for block, universe in enumerate(self._map.universes):
            if universe and universe not in wanted:
                self._map.forget(block)
        held = self._held_blocks()
        self._blocks = {
            universe: held[universe] if universe in held else self._new_block(universe, wanted)
            for universe in sorted(wanted)
        }
        self._map.publish_plan(text)
        self.beat()
        self._wake()

    def picture(self, universe: int) -> bytes | None:
        """The universe's last 512 levels, also after a crash of both sides; None when there are none."""
        whole = self._whole(universe)
        return None if whole is None else whole[0]

    def priorities(self, universe: int) -> bytes | None:
        """The priority of each of the universe's slots as written last; None when there is no picture."""
        whole = self._whole(universe)
        return None if whole is None else whole[1] or bytes(SLOTS)

    def _whole(self, universe: int) -> tuple[bytes, bytes] | None:
        block = self._blocks.get(universe)
        return None if block is None else self._map.picture(block)

    def write(self, universe: int, slots: Octets, each: Octets = b"") -> None:
        """Make these 512 levels the universe's picture. It leaves with the next `wake`, or the next packet.

        each: the priority of each slot (START code 0xDD), 0: not ours; none stand for 512 zeros. They are
        sent where the plan says `per_slot`.

        Raises KeyError: the universe is not in the plan. Raises ValueError: not 512 octets.
        """
        if len(slots) != SLOTS or len(each) not in (0, SLOTS):
            raise ValueError(f"A picture is {SLOTS} octets, not {len(slots)} and {len(each)}.")
        block = self._blocks[universe]
        if not self._writing:
            self._writing = True
            self._map.set_time("writing", monotonic())
        self._map.publish(block, slots, each)
        self._looks = min(self._looks, self._map.looks[block])

    def wake(self) -> None:
        """Tell the process to look now, unless it looks in time by itself for all that was written.

        A universe in motion can leave no sooner than with its next packet, which the process looks before.
        """
        now = monotonic()
        self._writing = False
        self._map.set_time("writing", 0.0)
        if not now + _SEEN_S < self._looks < now + _SOON_S:
            self._wake()
        self._looks = inf

    def _wake(self) -> None:
        with contextlib.suppress(OSError):
            self._waker.sendto(b"", ("127.0.0.1", self._map.number("wake_port")))

    def counts(self) -> dict[int, Counts]:
        """Counts of each universe of the plan, at most 0.25 s old."""
        shared = self._map
        return {
            universe: Counts(shared.frames[block], shared.errors[block], shared.last_sent[block])
            for universe, block in self._blocks.items()
        }

    def beat(self) -> None:
        """Show a sign of life, twice a second; starts the process again if it died without being asked.

        Where that cannot be done (no processes, a disk that may only be read) it is told by `last_error`, and
        the next beat tries again.
        """
        self._look_at_clock()
        self._map.set_time("web_beat", monotonic())
        state = self._map.number("state")
        if state == ENDED:
            return
        if self._runs():
            self._down = "" if state == RUNNING else self._down
            return
        if state == FRESH and self._child is not None and not self._down:
            self._down = _down(self._log_end())
        try:
            self._spawn()
        except OSError as why:
            self._down = _down(why.strerror or str(why))

    def last_error(self) -> str | None:
        """What is wrong with the output now, in words for a person; None when nothing is."""
        if self._map.number("state") == ENDED:
            return "The output was ended from outside: nothing is sent. Start the server again."
        if self._down:
            return self._down
        self._look_at_clock()
        if monotonic() - max(self._map.time("beat"), self._awake_since) > _HUNG_S:
            return "The output process does not answer: what is sent now is not known."
        return self._map.error() or None

    def _look_at_clock(self) -> None:
        now = monotonic()
        if now - self._looked > _STOOD_S:
            self._awake_since = now
        self._looked = now

    def end(self, timeout_s: float = _END_S) -> bool:
        """End the streams properly and the process with them; False when it had to be killed."""
        self._map.set_number("end_asked", 1)
        self._wake()
        gone = _until(lambda: not self._runs(), timeout_s)
        if not gone:
            _kill(self.pid)
            _until(lambda: not self._runs(), timeout_s)
        self._map.set_number("state", ENDED)
        self._close()
        return gone

    def leave(self) -> None:
        """Let go of the process and let it live; what it does alone is in the plan."""
        self._map.set_number("web_pid", 0)
        if self._child is not None and self._child.poll() is None:
            self._child.returncode = 0  # left to itself on purpose: nobody waits for it any more
        self._close()

    def _close(self) -> None:
        self._waker.close()
        self._map.close()
        self._lock.release()

    def _held_blocks(self) -> dict[int, int]:
        return {universe: block for block, universe in enumerate(self._map.universes) if universe}

    def _new_block(self, universe: int, wanted: set[int]) -> int:
        """A block never used; when there is none, one whose universe is not wanted any more."""
        universes = list(self._map.universes)
        free = (block for block, held in enumerate(universes) if held not in wanted)
        block = universes.index(0) if 0 in universes else next(free)
        self._map.forget(block)
        self._map.universes[block] = universe
        self._map.frames[block] = self._map.errors[block] = 0
        self._map.last_sent[block] = 0.0
        return block

    def _spawn(self) -> None:
        self._map.set_number("state", FRESH)
        self._map.set_number("end_asked", 0)
        self._map.set_time("beat", monotonic())
        command = [sys.executable, "-m", "server.output", str((self._folder / "output.map").resolve())]
        with (self._folder / "output.log").open("wb") as log:
            self._child = subprocess.Popen(
                command,
                cwd=_PROJECT,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=log,
                start_new_session=True,
                creationflags=_GROUP,
            )

    def _runs(self) -> bool:
        if self._child is not None:
            return self._child.poll() is None
        return _process_lives(self._folder)

    def _log_end(self) -> str:
        try:
            log = (self._folder / "output.log").read_text(errors="replace").strip()
        except OSError:
            log = ""
        return log.splitlines()[-1] if log else "it left no word."


def _down(why: str) -> str:
    why = why.rstrip(".")
    return f"The output process ended, and does not start ({why}): nothing is sent. It is tried again."


def _process_lives(folder: Path) -> bool:
    try:
        FileLock(folder / "output.lock").release()
    except OSError:
        return True
    return False


def _is_of_use(shared: SharedMap) -> bool:
    answers = monotonic() - shared.time("beat") < _HUNG_S
    return shared.number("version") == VERSION and shared.number("state") == RUNNING and answers


def _end_stranger(folder: Path, shared: SharedMap) -> None:
    """End a process that is of no use: of another version, already ending, or hanging."""
    shared.set_number("end_asked", 1)
    if not _until(lambda: not _process_lives(folder), _END_S):
        _kill(shared.number("pid"))
        if not _until(lambda: not _process_lives(folder), _END_S):
            raise OutputFailed("An output process that is of no use any more is running and does not end.")


def _kill(pid: int) -> None:
    if pid > 0:  # 0 would be our own group
        with contextlib.suppress(OSError):
            os.kill(pid, 9)


def _until(done: Callable[[], bool], timeout_s: float) -> bool:
    deadline = monotonic() + timeout_s
    while not done():
        if monotonic() > deadline:
            return False
        sleep(_LOOK_S)
    return True
