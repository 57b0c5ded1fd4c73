"""The zip of a pack: made, read back, and refused in one sentence when it is something else."""

import io
import zipfile
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.paperwork.handover import PACK_MOST, NotAPackError, write_pack
from server.paperwork.handover_file import pack_in, zipped
from tests.handovers import packed

__all__: list[str] = []


def a_zip(kind: int = zipfile.ZIP_DEFLATED, **members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", kind) as archive:
        for name, body in members.items():
            archive.writestr(name.replace("_", "."), body)
    return out.getvalue()


def test_the_standard_library_opens_it_and_finds_each_part(tmp_path: Path) -> None:
    path = tmp_path / "pack.zip"
    path.write_bytes(zipped(b"%PDF", write_pack(packed()), {"looks": "Look\r\nÄther\r\n"}))
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == ["handover.pdf", "pack.json", "tables/looks.csv"]
        assert archive.read("tables/looks.csv").startswith(b"\xef\xbb\xbf")
    assert pack_in(path.read_bytes()) == packed()
    assert pack_in(write_pack(packed())) == packed()


HOSTILE = {
    "no pack": a_zip(other_json=b"{}"),
    "a pack of something else": a_zip(pack_json=b"[1, 2]"),
    "far too large": a_zip(pack_json=b" " * (PACK_MOST + 1)),
    "packed otherwise": a_zip(zipfile.ZIP_BZIP2, pack_json=write_pack(packed())),
    "cut off": a_zip(pack_json=write_pack(packed()))[:200],
    "text": b"Dear all, the get-in is at nine.",
    "nothing but the mark": b"PK\x05\x06" + bytes(18),
}


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE)
def test_what_is_no_pack_is_refused_in_one_sentence(data: bytes) -> None:
    with pytest.raises(NotAPackError, match=r"^This [^.]+\.$"):
        pack_in(data)


WHOLE = a_zip(pack_json=write_pack(packed()))


@given(st.integers(0, len(WHOLE) - 1), st.binary(min_size=1, max_size=8))
def test_a_damaged_one_is_read_right_or_refused(at: int, noise: bytes) -> None:
    with suppress(NotAPackError):
        pack_in(WHOLE[:at] + noise + WHOLE[at + len(noise) :])
