"""Photos to test with, made by Pillow as a phone would make them: with place, model and remarks."""

from functools import cache
from io import BytesIO
from typing import Any

from PIL import Image

__all__ = ["WHERE", "jpeg"]

WHERE = b"52 deg 31 min north"  # what must not travel


@cache
def jpeg(size: tuple[int, int] = (96, 64), mode: str = "RGB", **more: Any) -> bytes:
    """A JPEG with Exif, a colour profile, a remark and a picture that differs from pixel to pixel."""
    image = Image.effect_noise(size, 40).convert(mode)
    exif = Image.Exif()
    exif[0x010E] = WHERE.decode()
    exif[0x0112] = 6
    out = BytesIO()
    image.save(out, "JPEG", exif=exif, comment=WHERE, icc_profile=b"profile", **more)
    return out.getvalue()
