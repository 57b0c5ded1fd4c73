"""Zip archives around a description: the root of its XML, or FileError."""

from contextlib import suppress

from server.paperwork.archive import xml_in_archive
from server.paperwork.problems import FileError
from tests.paperwork.gdtf_files import channel, fixture, gdtf, mode

__all__ = ["SEEDS", "WORDS", "one"]

SEEDS = (gdtf(fixture(mode(channel("Dimmer", 1)))), gdtf("<a/>"))
WORDS = (b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06", b"PK\x06\x06", b"description.xml")


def one(data: bytes) -> None:
    """Nothing else is raised, and what is there is an element."""
    with suppress(FileError):
        assert xml_in_archive(data, "description.xml").tag
