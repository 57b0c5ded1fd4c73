"""Photos: the picture stays to the pixel, what the phone wrote beside it goes, damaged ones are refused."""

from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from server.paperwork.photo import LARGEST_SIDE, PhotoError, plain_photo
from tests.photos import WHERE, jpeg

__all__: list[str] = []


def _pixels(data: bytes) -> bytes:
    with Image.open(BytesIO(data)) as image:
        return image.convert("RGB").tobytes()


@pytest.mark.parametrize("mode", ["RGB", "L"])
@pytest.mark.parametrize("progressive", [False, True])
def test_the_picture_is_the_same_to_the_pixel_for_pillow(mode: str, progressive: bool) -> None:
    data = jpeg(mode=mode, progressive=progressive)
    plain = plain_photo(data)
    assert _pixels(plain) == _pixels(data)
    assert plain_photo(plain) == plain  # nothing is left to take out


def test_place_phone_and_remarks_are_taken_out() -> None:
    data = jpeg()
    assert WHERE in data
    with Image.open(BytesIO(data)) as image:
        assert image.getexif()
        assert image.info["comment"]
    plain = plain_photo(data + b"and what an app hid behind it")
    assert WHERE not in plain
    assert plain.endswith(b"\xff\xd9")
    with Image.open(BytesIO(plain)) as image:
        assert not image.getexif()
        assert not set(image.info) & {"comment", "exif", "icc_profile", "xmp", "photoshop", "mp"}


def test_colours_of_an_adobe_file_stay_what_they_were() -> None:
    data = jpeg(keep_rgb=True)
    assert b"Adobe" in data
    assert _pixels(plain_photo(data)) == _pixels(data)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.99])
def test_a_photo_that_is_cut_off_is_refused(share: float) -> None:
    data = jpeg()
    with pytest.raises(PhotoError):
        plain_photo(data[: int(len(data) * share)])


def test_other_kinds_of_files_and_huge_ones_are_refused() -> None:
    png, wide = BytesIO(), BytesIO()
    Image.new("RGB", (8, 8)).save(png, "PNG")
    Image.new("L", (LARGEST_SIDE + 1, 1)).save(wide, "JPEG")
    cmyk = BytesIO()
    Image.new("CMYK", (8, 8)).save(cmyk, "JPEG")
    for data in (png.getvalue(), wide.getvalue(), cmyk.getvalue(), b"", b"\xff\xd8\xff\xd9"):
        with pytest.raises(PhotoError) as wrong:
            plain_photo(data)
        assert wrong.value.args[0].endswith(".")


@given(st.integers(2, 2000), st.binary(max_size=8))
def test_any_octets_give_a_photo_that_stays_as_it_is_or_a_sentence(at: int, octets: bytes) -> None:
    data = jpeg(size=(24, 16))
    changed = data[: at % len(data)] + octets + data[at % len(data) + len(octets) :]
    try:
        plain = plain_photo(changed)
    except PhotoError:
        return
    assert plain_photo(plain) == plain
    assert len(plain) <= len(changed)
