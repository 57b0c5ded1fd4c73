"""A hostile archive is refused in words before it costs anything."""

import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.archive import xml_in_archive
from server.paperwork.problems import FileError

__all__: list[str] = []

NAME = "description.xml"


def archive(*members: tuple[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as made:
        for name, text in members:
            made.writestr(name, text)
    return out.getvalue()


def refusal(data: bytes) -> str:
    with pytest.raises(FileError) as refused:
        xml_in_archive(data, NAME)
    return str(refused.value)


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
@pytest.mark.parametrize(
    "text", [b"<a/>", b"\xef\xbb\xbf<a/>", b"<a/>\0", "<?xml version='1.0'?><a b='ü'/>".encode()]
)
def test_an_ordinary_file_is_read(method: int, text: bytes) -> None:
    assert xml_in_archive(archive((NAME, text), ("wheels/a.png", b"x"), method=method), NAME).tag == "a"


@pytest.mark.parametrize(
    "data",
    [b"", b"PK", b"no archive at all", archive((NAME, b"<a/>" * 200))[:90]],
    ids=["nothing", "a beginning", "no archive", "cut off"],  # the last holds the time, and ids do not change
)
def test_what_is_no_archive_is_said_to_be_none(data: bytes) -> None:
    assert "cannot be unpacked" in refusal(data)


@pytest.mark.parametrize("name", ["Description.xml", "folder/description.xml", "other.xml"])
def test_the_description_must_lie_at_the_root_under_its_name(name: str) -> None:
    assert "exactly one description.xml" in refusal(archive((name, b"<a/>")))


def test_two_descriptions_that_differ_in_capitals_are_refused() -> None:
    assert "exactly one" in refusal(archive((NAME, b"<a/>"), ("DESCRIPTION.XML", b"<b/>")))


def test_other_ways_of_packing_are_refused() -> None:
    assert "pack it again" in refusal(archive((NAME, b"<a/>"), method=zipfile.ZIP_BZIP2))


def test_an_encrypted_description_is_refused() -> None:
    data = bytearray(archive((NAME, b"<a/>")))
    data[data.rindex(b"PK\x01\x02") + 8] |= 1  # general purpose flag, bit 0, in the central directory
    assert "encrypted" in refusal(bytes(data))


def test_a_small_archive_that_unpacks_to_a_huge_file_is_not_unpacked() -> None:
    assert "larger than 8 MiB" in refusal(archive((NAME, b"<a>" + b" " * (9 * 2**20) + b"</a>")))
    assert "far more" in refusal(archive(*((f"{n}", bytes(65 * 2**20)) for n in range(4)), (NAME, b"<a/>")))


def test_too_many_entries_and_too_many_tags_are_refused() -> None:
    assert "far more" in refusal(archive(*((str(n), b"") for n in range(4097))))
    assert "tags" in refusal(archive((NAME, b"<a>" + b"<b/>" * 400_001 + b"</a>")))


@pytest.mark.parametrize(
    "text",
    [
        b"<!DOCTYPE a [<!ENTITY b 'bbbb'>]><a>&b;</a>",
        b"<!DOCTYPE a [<!ENTITY b SYSTEM 'file:///etc/hostname'>]><a>&b;</a>",
        b"<!DOCTYPE a SYSTEM 'http://127.0.0.1:9/a.dtd'><a/>",
    ],
)
def test_entities_and_outside_files_are_neither_expanded_nor_fetched(text: bytes) -> None:
    assert "document type" in refusal(archive((NAME, text)))


@pytest.mark.parametrize(
    "text", [b"", b"<a>", b"<a></b>", b"\xff\xfe<a/>", b"<?xml version='1.0' encoding='none-8'?><a/>"]
)
def test_broken_xml_is_refused(text: bytes) -> None:
    assert "not readable XML" in refusal(archive((NAME, text)))


@given(st.binary(max_size=400))
def test_any_bytes_are_refused_in_words(data: bytes) -> None:
    refusal(data)


GOOD = archive((NAME, b"<a><b c='1'/></a>"), ("x.png", b"0123456789"))


@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 255)), min_size=1, max_size=6))
def test_an_archive_with_damaged_bytes_is_read_or_refused(damage: list[tuple[int, int]]) -> None:
    data = bytearray(GOOD)
    for at, octet in damage:
        data[at] = octet
    try:
        root = xml_in_archive(bytes(data), NAME)
    except FileError:
        return
    assert root.tag
