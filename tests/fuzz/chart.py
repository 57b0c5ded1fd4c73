"""Pasted slot charts: no draft, or one in the shape of the file format in which what can hurt is guarded."""

import json
from contextlib import suppress

from server.paperwork.chart import draft_of
from server.paperwork.problems import FileError
from server.paperwork.profile_file import ProfileFile
from server.paperwork.profiles import profile_from_json
from server.paperwork.unguarded import unguarded

__all__ = ["SEEDS", "WORDS", "one"]

SEEDS = (
    b"Channel\tFunction\tDMX\tDescription\n1\tPan (540 deg)\t0-255\n2\tPan fine\n3\tShutter\t0-7\tclosed\n"
    b"\t\t8-15\topen\n\t\t16-255\tStrobe 1-20 Hz\n4\tControl\t0-99\tno function\n\t\t100-255\tLamp off\n",
    "Kanal;Funktion;Prozent\n1/2;Dimmer;0–100 %\n3;Nebel;0…9\n;;10-100\n".encode(),
    b"1 Red\n2 Green\n3 Blue\n3 0-10 slow\n5 Fan\n6 Wobble",
    b"1-2   Pan 16 bit   \n      Strobe    000-010   off\n",
    b"Von;Bis;Kanal;Belegung\n0;127;1;Relais\n128;255;;an\n",
)
WORDS = (
    b"\t",
    b";",
    b"\n",
    b"0-255",
    b"1/2",
    b"fine",
    b"Lamp",
    b"Fog",
    b"%",
    b"100%",
    b"512",
    b"513",
    b"16 bit",
)


def one(data: bytes) -> None:
    """The draft has the format's shape; each thing said has words."""
    draft, report = draft_of(data.decode("utf-8", "replace"), "A unit", "Nobody")
    assert all(each.why for each in report)
    if draft is None:
        assert report
        return
    ProfileFile.model_validate_json(json.dumps(draft))
    with suppress(FileError):
        assert unguarded(profile_from_json(draft)) == []
