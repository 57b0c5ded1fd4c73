"""The shared memory: what one side publishes the other reads whole or not at all."""

import multiprocessing
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.output.plan import MOST_UNIVERSES
from server.output.shared_map import SLOTS, VERSION, SharedMap

__all__: list[str] = []


@pytest.fixture
def ends(tmp_path: Path) -> Iterator[tuple[SharedMap, SharedMap]]:
    """Two ends of one map: the web side's and the process's."""
    path = tmp_path / "output.map"
    SharedMap.create(path)
    writer, reader = SharedMap(path), SharedMap(path)
    yield writer, reader
    writer.close()
    reader.close()


def test_a_fresh_map_has_no_picture_and_no_plan(ends: tuple[SharedMap, SharedMap]) -> None:
    _, reader = ends
    assert reader.number("version") == VERSION
    assert reader.plan() is None
    assert not any(reader.has_picture(block) for block in range(MOST_UNIVERSES))
    assert reader.picture(0) is None


def test_all_of_a_fresh_map_is_on_the_disk(tmp_path: Path) -> None:
    path = tmp_path / "output.map"
    SharedMap.create(path)
    told = path.stat()
    assert told.st_size > 4 * MOST_UNIVERSES * SLOTS  # two copies, levels and priorities
    assert sys.platform == "win32" or 512 * told.st_blocks >= told.st_size  # stat(2): blocks of 512


@pytest.mark.skipif(not Path("/proc/self/smaps").exists(), reason="only Linux tells what of a map is in use")
def test_of_the_map_only_what_is_touched_is_in_use(ends: tuple[SharedMap, SharedMap], tmp_path: Path) -> None:
    writer, reader = ends
    writer.publish(0, bytes(SLOTS))
    assert reader.picture(0)
    _, *maps = Path("/proc/self/smaps").read_text().split(str(tmp_path / "output.map"))
    lines = [next(line for line in each.splitlines() if line.startswith("Rss:")) for each in maps]
    resident_k = [int(line.split()[1]) for line in lines]
    assert len(resident_k) == 2
    assert max(resident_k) < 1024  # proc(5); all of it is 4160


def test_pictures_of_the_first_and_the_last_block_arrive(ends: tuple[SharedMap, SharedMap]) -> None:
    writer, reader = ends
    for block in (0, MOST_UNIVERSES - 1):
        for level in (1, 2, 3):
            writer.publish(block, bytes([level]) * SLOTS)
            assert reader.picture(block) == (bytes([level]) * SLOTS, b"")
    assert reader.picture(1) is None


def test_levels_and_priorities_are_one_picture_and_those_without_leave_none_behind(
    ends: tuple[SharedMap, SharedMap],
) -> None:
    writer, reader = ends
    for number in range(3):
        writer.publish(7, bytes([number]) * SLOTS, bytes([100 + number]) * SLOTS)
        assert reader.picture(7) == (bytes([number]) * SLOTS, bytes([100 + number]) * SLOTS)
    writer.publish(7, b"\5" * SLOTS, b"\6" * SLOTS)
    writer._map[(1 << 16) + 2 * SLOTS * (14 + (writer.versions[7] & 1)) + SLOTS] = 9
    assert reader.picture(7) is None, "one check for both"
    for _ in range(2):
        writer.publish(7, b"\4" * SLOTS)
        assert reader.picture(7) == (b"\4" * SLOTS, b"")


def test_a_map_of_another_version_is_read_as_far_as_ending_its_process_takes(tmp_path: Path) -> None:
    path = tmp_path / "output.map"
    SharedMap.create(path)
    older = bytearray(path.read_bytes()[: (1 << 16) + (1 << 20)])  # as small as the first version's
    older[16:20] = (1).to_bytes(4, sys.byteorder)
    path.write_bytes(older)
    shared = SharedMap(path)
    shared.set_number("end_asked", 1)
    assert (shared.number("version"), shared.number("end_asked")) == (1, 1)
    shared.close()
    older[16:20] = VERSION.to_bytes(4, sys.byteorder)
    path.write_bytes(older)
    with pytest.raises(ValueError, match="not a shared map"):
        SharedMap(path)


def test_a_forgotten_picture_is_gone_and_the_next_one_looks_new(ends: tuple[SharedMap, SharedMap]) -> None:
    writer, reader = ends
    writer.publish(3, bytes(SLOTS))
    before = reader.news(4)
    writer.forget(3)
    assert reader.picture(3) is None
    writer.publish(3, bytes(SLOTS))
    assert reader.picture(3) == (bytes(SLOTS), b"")
    assert reader.news(4) != before


def test_versions_wrap_without_losing_the_picture(ends: tuple[SharedMap, SharedMap]) -> None:
    writer, reader = ends
    writer.versions[0] = 0xFFFFFFFE
    writer.forget(0)
    for level in range(4):
        writer.publish(0, bytes([level]) * SLOTS)
        assert reader.picture(0) == (bytes([level]) * SLOTS, b"")


def test_a_writer_that_dies_half_way_leaves_the_old_picture_whole(ends: tuple[SharedMap, SharedMap]) -> None:
    writer, reader = ends
    writer.publish(0, b"\1" * SLOTS)
    halfway = writer.versions[0] + 1
    at = (1 << 16) + 2 * SLOTS * (halfway & 1)
    writer._map[at : at + 100] = b"\2" * 100  # as far as the writer came
    assert reader.picture(0) == (b"\1" * SLOTS, b"")


def test_a_picture_that_does_not_fit_its_check_sum_is_not_believed(ends: tuple[SharedMap, SharedMap]) -> None:
    writer, reader = ends
    writer.publish(0, b"\1" * SLOTS)
    writer._map[(1 << 16) + 2 * SLOTS * (writer.versions[0] & 1)] = 9
    assert reader.picture(0) is None
    assert reader.has_picture(0)


def test_a_plan_arrives_and_one_that_is_too_long_is_refused(ends: tuple[SharedMap, SharedMap]) -> None:
    writer, reader = ends
    for text in (b"one", b"", b"three" * 1000):
        writer.publish_plan(text)
        published = reader.plan()
        assert published is not None
        assert published[1] == text
    with pytest.raises(ValueError, match="1048576"):
        writer.publish_plan(bytes((1 << 20) + 1))


def test_words_for_a_person_are_cut_at_a_character(ends: tuple[SharedMap, SharedMap]) -> None:
    writer, reader = ends
    writer.set_error("é" * 400)
    assert reader.error() == "é" * 240
    writer.set_error("")
    assert reader.error() == ""


@pytest.mark.parametrize("content", [b"", b"something else", bytes(4 << 20)])
def test_another_file_is_no_map(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "output.map"
    path.write_bytes(content)
    with pytest.raises(ValueError, match="not a shared map"):
        SharedMap(path)


def _write_without_end(path: Path, stop: "threading.Event") -> None:
    shared = SharedMap(path)
    pictures = [bytes([level]) * SLOTS for level in range(256)]
    while not stop.is_set():
        for level, picture in enumerate(pictures):
            shared.publish(0, picture, picture if level % 2 else b"")
    shared.close()


def test_a_reader_never_sees_half_of_one_picture_and_half_of_another(tmp_path: Path) -> None:
    path = tmp_path / "output.map"
    SharedMap.create(path)
    context = multiprocessing.get_context("spawn")
    stop = context.Event()
    writer = context.Process(target=_write_without_end, args=(path, stop))
    writer.start()
    reader = SharedMap(path)
    seen: set[int] = set()
    try:
        while len(seen) < 256:
            picture = reader.picture(0, fresh=len(seen) > 128)
            if picture is not None:
                slots, each = picture
                assert len(set(slots)) == 1
                assert each == (slots if slots[0] % 2 else b"")
                seen.add(slots[0])
    finally:
        stop.set()
        writer.join()
        reader.close()
