"""Rig files: rows and problems, whatever the octets; what was read can be written and reads the same."""

from itertools import count

from server.paperwork.changes import changes, problems_in
from server.paperwork.csv import read_rig, write_rig
from server.paperwork.library import Library, read_folder
from server.paperwork.rig_json import is_json, read_rig_json
from server.places import profiles_folder

__all__ = ["SEEDS", "WORDS", "one"]

_LIBRARY = Library(read_folder(profiles_folder()))
_PLAIN = """Position,Unit,Channel,Purpose,Type,Mode,Universe,Address,Notes,Colour
Bridge 1,1,21,Area 4 warm,Dimmer,1-slot,1,101,,L201
Bridge 1,2,22,"Area 5, warm",moving-spot-cmy,26,2,1,lens cleaned,
"""
SEEDS = (
    _PLAIN.encode(),
    _PLAIN.replace(",", ";").encode("utf-16"),
    b"Type\tMode\tAddress\r\ndimmer\t1-slot\t3.12\r\nfog machine\t2\t600\r\n",
    b"Type,Mode,Universe,Address,House,Guarded,Work light\ndimmer,1-slot,1,512,yes,no,x\n",
    "Kanal;Gerätetyp;Modus;Adresse;Farbe;Farbe\n1;Dimmer;1-slot;1/7;L201;=1\n".encode("cp1252"),
    b"'Type','Mode','Slots'\n'dimmer','1-slot','1'\n",
    b'{"focuscall":"rig","version":1,"fixtures":[{"profile":"dimmer","mode":"1-slot","more":{"a":"b"}}]}',
)
WORDS = (
    b"Type",
    b"Mode",
    b"Universe",
    b"Address",
    b"Channel",
    b"dimmer",
    b"1-slot",
    b"Slots",
    b"focuscall",
    b"fixtures",
    b"\n",
    b'"',
    b"=",
    b"\xff\xfe",
)


def one(data: bytes) -> None:
    """Every problem has words, and the rows can be compared with a rig."""
    rows, problems = read_rig(data, _LIBRARY)
    assert all(problem.why for problem in problems)
    written = write_rig(rows)
    again, wrong = read_rig(written.encode(), _LIBRARY)
    assert rows == again or not rows
    assert not wrong or not rows
    assert write_rig(again) == written
    ids = count()
    found = changes(rows, (), lambda: f"f{next(ids)}")
    assert all(problem.why for problem in problems_in(found, (), _LIBRARY, ()))
    if is_json(data):
        sheet = read_rig_json(data, _LIBRARY)
        assert all(problem.why for problem in sheet.problems)
        changes(sheet.rows, (), lambda: f"f{next(ids)}")
