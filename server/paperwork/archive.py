"""One XML file out of a zip archive that a stranger has made: read within limits, or refused in words."""

import io
import struct
import zipfile
import zlib
from pathlib import Path
from typing import BinaryIO
from xml.etree.ElementTree import Element, ParseError

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring

from server.paperwork.problems import FileError, Problem

__all__ = ["BROKEN", "ENTRIES_MOST", "METHODS", "xml_in", "xml_in_archive"]

# Each well above the largest of the public files looked at: 2.4 MB, 897 entries, 6.9 MB, 0.8 MB, 18,503 tags.
ARCHIVE_MOST = 32 * 2**20
ENTRIES_MOST = 4096
UNPACKED_MOST = 256 * 2**20
XML_MOST = 8 * 2**20
TAGS_MOST = 400_000
METHODS = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
BROKEN = (
    zipfile.BadZipFile, zlib.error, struct.error, RuntimeError, OSError, EOFError, LookupError, ValueError,
)  # fmt: skip


def xml_in_archive(data: bytes, name: str) -> Element:
    """The root of the XML file `name` at the root of the archive.

    Nothing is unpacked to disk, nothing outside the file is fetched, no entity is expanded.
    Raises FileError, and nothing else, for any bytes.
    """
    if len(data) > ARCHIVE_MOST:
        raise _refused(f"is larger than {ARCHIVE_MOST // 2**20} MiB")
    return xml_in(io.BytesIO(data), name)


def xml_in(file: BinaryIO | Path, name: str, unpacked_most: int = UNPACKED_MOST) -> Element:
    """The same of a file that is not read into memory."""
    try:
        with zipfile.ZipFile(file) as archive:
            text = _member(archive, name, unpacked_most)
    except FileError:
        raise
    except BROKEN as wrong:
        raise _refused(f"cannot be unpacked ({wrong or type(wrong).__name__})") from None
    text = text.removeprefix(b"\xef\xbb\xbf").rstrip(b"\0")
    if text.count(b"<") > TAGS_MOST:
        raise _refused(f"{name} has more than {TAGS_MOST} tags")
    try:
        root: Element = fromstring(text, forbid_dtd=True)
    except DefusedXmlException:
        raise _refused(f"{name} declares a document type or entities, which no such file needs") from None
    except (ParseError, ValueError, LookupError) as wrong:
        raise _refused(f"{name} is not readable XML ({wrong})") from None
    return root


def _member(archive: zipfile.ZipFile, name: str, unpacked_most: int) -> bytes:
    entries = archive.infolist()
    if len(entries) > ENTRIES_MOST or sum(e.file_size for e in entries) > unpacked_most:
        raise _refused("holds far more than such a file needs")
    found = [e for e in entries if e.filename.casefold() == name.casefold()]
    if [e.filename for e in found] != [name]:
        raise _refused(f"needs exactly one {name} at its root")
    if found[0].flag_bits & 1:
        raise _refused("is encrypted")
    if found[0].compress_type not in METHODS:
        raise _refused("is packed in a way the standard does not allow; pack it again as an ordinary zip")
    with archive.open(found[0]) as member:
        text = member.read(XML_MOST + 1)  # whatever the directory says about its size
    if len(text) > XML_MOST:
        raise _refused(f"{name} is larger than {XML_MOST // 2**20} MiB")
    return text


def _refused(why: str) -> FileError:
    return FileError([Problem("", f"The file {why}.")])
