"""An element as an XML file in a zip, the same octets for the same contents."""

import re
import zipfile
from xml.etree.ElementTree import Element, tostring

__all__ = ["put", "put_xml"]

HEAD = b'<?xml version="1.0" encoding="UTF-8" standalone="no"?>\n'
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the first moment a zip can name
FORBIDDEN = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f]")  # XML 1.0, 2.2: no such characters, escaped or not


def put_xml(archive: zipfile.ZipFile, name: str, root: Element) -> None:
    """Write it under that name; characters that XML cannot carry are left out."""
    put(archive, name, HEAD + FORBIDDEN.sub(b"", tostring(root)))


def put(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    """Write a file under that name."""
    archive.writestr(zipfile.ZipInfo(name, LONG_AGO), data, zipfile.ZIP_DEFLATED)
