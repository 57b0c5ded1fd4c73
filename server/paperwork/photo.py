"""A photo from a phone as it may be kept: JPEG, without what the phone wrote beside the picture."""

from server.rig.said import Said

__all__ = ["LARGEST_SIDE", "PhotoError", "plain_photo"]

# Markers of ITU-T T.81 (1992), Table B.1.
SOI, EOI, SOS, DQT, DHT, DRI = 0xD8, 0xD9, 0xDA, 0xDB, 0xC4, 0xDD
FRAMES = {0xC0, 0xC1, 0xC2}  # SOF0 to SOF2: what browsers draw; lossless and arithmetic ones are not
APP0, APP14 = 0xE0, 0xEE
NOTHING = range(0xD0, 0xD8)  # RST0 to RST7: inside a scan, without a length
BESIDE = range(0xE0, 0xFF)  # APP0 to APP15, reserved ones and COM: words about the picture, none of it
ADOBE = 12  # octets of an Adobe segment: which colours the numbers mean (ISO/IEC 10918-6, 6.5.3)
JFIF = b"\xff\xe0\x00\x10JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"  # ISO/IEC 10918-5: no thumbnail
LARGEST_SIDE = 4096  # pixels: a browser that draws it takes four octets for each
MOST_SEGMENTS = 256  # a progressive one has ten scans with a table each

NO_PHOTO = Said("This is not a JPEG photo.")
CUT = Said("This photo is cut off or damaged. Take it again.")


class PhotoError(Exception):
    """It is not kept; the sentence says why."""


def plain_photo(data: bytes) -> bytes:
    """The picture alone: without place, time, phone, thumbnail, remarks, and what stands after its end.

    Nothing is decoded. Raises PhotoError: not a JPEG of 8 bits a sample with 1 or 3 components, larger than
    LARGEST_SIDE, or not whole.
    """
    if data[:2] != bytes((0xFF, SOI)):
        raise PhotoError(NO_PHOTO)
    out, at, frames, scans = bytearray(data[:2]), 2, 0, 0
    for _ in range(MOST_SEGMENTS):
        marker, at = _marker(data, at)
        if marker == EOI:
            if not (frames == 1 and scans):
                raise PhotoError(CUT)
            return bytes(out + bytes((0xFF, EOI)))
        body, after = _segment(data, at)
        if marker in FRAMES:
            frames += 1
            _check_frame(body)
        elif marker == SOS and frames == 1:
            scans += 1
            after = _end_of_scan(data, after)
        elif marker in (APP0, APP14):
            out += _colours(marker, body)
        elif marker not in (DQT, DHT, DRI) and marker not in BESIDE:
            raise PhotoError(NO_PHOTO)
        if marker not in BESIDE:
            out += bytes((0xFF, marker)) + data[at:after]
        at = after
    raise PhotoError(CUT)


def _marker(data: bytes, at: int) -> tuple[int, int]:
    """The marker at that octet, and where what follows it begins; fill octets before it are passed over."""
    end = at
    while data[end : end + 1] == b"\xff":
        end += 1
    if end == at or end >= len(data):
        raise PhotoError(CUT)
    return data[end], end + 1


def _segment(data: bytes, at: int) -> tuple[bytes, int]:
    """What a segment holds after its length, and where it ends."""
    length = int.from_bytes(data[at : at + 2], "big")
    if length < 2 or at + length > len(data):
        raise PhotoError(CUT)
    return data[at + 2 : at + length], at + length


def _check_frame(body: bytes) -> None:
    if len(body) < 6 or body[0] != 8 or body[5] not in (1, 3) or len(body) != 6 + 3 * body[5]:
        raise PhotoError(NO_PHOTO)
    height, width = int.from_bytes(body[1:3], "big"), int.from_bytes(body[3:5], "big")
    if not (1 <= width <= LARGEST_SIDE and 1 <= height <= LARGEST_SIDE):
        raise PhotoError(Said("A photo has up to {most} pixels on a side.", most=LARGEST_SIDE))


def _end_of_scan(data: bytes, at: int) -> int:
    """Where the next marker stands: inside a scan 0xFF comes before 0 or a restart (T.81, B.1.1.5)."""
    while (at := data.find(b"\xff", at)) >= 0:
        follows = data[at + 1 : at + 2]
        if not follows:
            break
        if follows[0] != 0 and follows[0] not in NOTHING:
            return at
        at += 2
    raise PhotoError(CUT)


def _colours(marker: int, body: bytes) -> bytes:
    """What says how the numbers are colours, and nothing else of those segments."""
    if marker == APP0 and body.startswith(b"JFIF\0"):
        return JFIF
    if marker == APP14 and body.startswith(b"Adobe") and len(body) >= ADOBE:
        return bytes((0xFF, APP14, 0, ADOBE + 2)) + body[:ADOBE]
    return b""
