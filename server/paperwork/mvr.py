"""An MVR file (DIN SPEC 15801:2023-12) as a list of units: names, ids, addresses, and where each hangs."""

import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree.ElementTree import Element

from server.paperwork.archive import BROKEN, METHODS, xml_in
from server.paperwork.matrix import IDENTITY, Matrix, inside, matrix_in, placed_at
from server.paperwork.problems import FileError, Problem
from server.paperwork.read_profile import FILE_MOST
from server.paperwork.refused import refusal
from server.rig.place import Placed
from server.rig.universe import SLOTS, UNIVERSE_LAST, split_absolute

__all__ = ["SCENE", "UNDRAWN", "Drawing", "Unit", "embedded", "read_mvr"]

SCENE = "GeneralSceneDescription.xml"
UNPACKED_MOST = 2 * 2**30  # models and textures, which nobody unpacks here
UNITS_MOST = 4096
UNDRAWN = "Not drawn"  # the layer that units without a place go out on
DEEPEST = 32  # things inside things
HOLDS = {"GroupObject", "Truss", "Support", "SceneObject", "Fixture", "VideoScreen", "Projector"}
CUSTOM = {"7": "fog", "8": "effect"}  # T26, CustomIdType; 9 is pyrotechnics
PYRO = "9"


@dataclass(frozen=True, slots=True)
class Unit:
    """A Fixture of the file. addresses: (DMXBreak from 1, universe, slot). inverted: Pan, Tilt or both.

    None where the file says nothing.
    """

    where: str
    spec: str
    mode: str
    placed: Placed
    addresses: tuple[tuple[int, int, int], ...] = ()
    channel: int | None = None
    number: str | None = None
    position: str | None = None
    purpose: str | None = None
    inverted: tuple[str, ...] | None = None
    guarded: bool = False
    ident: str = ""


@dataclass(slots=True)
class Drawing:
    """What is in a file. problems: of units that cannot be taken. left_out: what is not kept."""

    units: list[Unit] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    left_out: list[Problem] = field(default_factory=list)
    _named: Counter[str] = field(default_factory=Counter)

    def place(self, node: Element) -> str:
        """What a fixture is called in reports: no two the same."""
        name = _where(node)
        self._named[name] += 1
        times = self._named[name]
        return name if times == 1 else f"{name}, no. {times} of that name"


def read_mvr(path: Path) -> Drawing:
    """Every unit that makes sense. Never raises for what is in the file."""
    drawing = Drawing()
    try:
        root = xml_in(path, SCENE, UNPACKED_MOST)
    except FileError as wrong:
        drawing.problems += wrong.problems
        return drawing
    scene = root.find("Scene")
    if root.tag != "GeneralSceneDescription" or scene is None:
        drawing.problems.append(Problem(SCENE, "holds no Scene"))
        return drawing
    positions = {
        p.get("uuid") or "": (p.get("name") or "").strip() for p in scene.iterfind("AUXData/Position")
    }
    for node, parents, layer, matrix in _walk(scene, drawing):
        if len(drawing.units) >= UNITS_MOST:
            drawing.problems.append(Problem(SCENE, f"holds more than {UNITS_MOST} fixtures"))
            break
        _take(drawing, node, parents, layer, matrix, positions)
    if not drawing.units and not drawing.problems:
        drawing.problems.append(Problem(SCENE, "holds no fixture"))
    return drawing


Found = tuple[Element, tuple[Element, ...], str, Matrix]


def _walk(scene: Element, drawing: Drawing) -> Iterator[Found]:
    """Each thing of each layer in reading order, with what holds it, its layer, and its place."""
    for layer in scene.iterfind("Layers/Layer"):
        name = (layer.get("name") or "").strip()[:200]
        todo: list[tuple[Element, tuple[Element, ...], Matrix]] = []
        _open(layer, (), _matrix(layer, IDENTITY, drawing), todo)
        while todo:
            node, parents, outer = todo.pop()
            if len(parents) > DEEPEST:
                drawing.problems.append(Problem(_where(node), "lies too deep inside other things"))
                continue
            here = _matrix(node, outer, drawing)
            yield node, parents, name, here
            _open(node, (*parents, node), here, todo)


def _open(
    node: Element,
    parents: tuple[Element, ...],
    matrix: Matrix,
    todo: list[tuple[Element, tuple[Element, ...], Matrix]],
) -> None:
    children = node.find("ChildList")
    if children is not None:
        todo += [(child, parents, matrix) for child in reversed(children) if child.tag in HOLDS]


def _matrix(node: Element, outer: Matrix, drawing: Drawing) -> Matrix:
    try:
        return inside(matrix_in(node.findtext("Matrix")), outer)
    except ValueError as wrong:
        drawing.left_out.append(Problem(_where(node), f"its Matrix {wrong}; it stands where its parent does"))
        return outer


def _where(node: Element) -> str:
    ident = (node.findtext("FixtureID") or "").strip()[:40]
    name = (node.get("name") or node.get("uuid") or "without a name").strip()[:100]
    return f"{node.tag} {name}" + (f" ({ident})" if ident else "")


def _take(
    drawing: Drawing,
    node: Element,
    parents: tuple[Element, ...],
    layer: str,
    matrix: Matrix,
    positions: dict[str, str],
) -> None:
    if node.tag != "Fixture":
        if node.find("Addresses/Address") is not None and _patched(node):
            drawing.left_out.append(Problem(_where(node), "is no fixture and is not driven"))
        return
    where = drawing.place(node)
    spec, mode = (node.findtext("GDTFSpec") or "").strip(), (node.findtext("GDTFMode") or "").strip()
    kind = (node.findtext("CustomIdType") or "").strip()
    hazard = refusal(spec.replace("@", " ")) or refusal(mode) or (refusal("pyro") if kind == PYRO else None)
    if hazard:
        drawing.problems.append(Problem(where, hazard))
        return
    try:
        addresses = tuple(_addresses(node))
        channel, ident = _ident(node)
    except ValueError as wrong:
        drawing.problems.append(Problem(where, str(wrong)))
        return
    number = (node.findtext("UnitNumber") or "").strip()
    drawing.units.append(
        Unit(
            where=where,
            spec=spec,
            mode=mode,
            placed=placed_at(matrix, (node.get("uuid") or "")[:200], (node.get("name") or "")[:200], layer),
            addresses=addresses,
            channel=channel,
            number=number[:200] if number not in ("", "0") else None,
            position=_position(node, parents, positions),
            purpose=(node.findtext("Function") or "").strip()[:200] or None,
            inverted=_inverted(node),
            guarded=kind in CUSTOM,
            ident=ident,
        )
    )


def _patched(node: Element) -> bool:
    return any((a.text or "0").strip() not in ("", "0") for a in node.iterfind("Addresses/Address"))


def _addresses(node: Element) -> Iterator[tuple[int, int, int]]:
    """DMXBreak, universe and slot. 0 and nothing written are not patched.

    The files count breaks from 0 where GDTF counts from 1; one that has no 0 counts as GDTF does.
    """
    given = [
        ((a.get("break") or "0").strip(), (a.text or "").strip()) for a in node.iterfind("Addresses/Address")
    ]
    first = 0 if any(number == "0" for number, _ in given) else 1
    for number, text in given:
        if text in ("", "0"):
            continue
        if not re.fullmatch(r"[0-9]{1,2}", number):
            raise ValueError(f'break "{number[:20]}" is not a number')
        yield (int(number) - first + 1, *_address(text))


def _address(text: str) -> tuple[int, int]:
    both = re.fullmatch(r"([0-9]{1,5})\.([0-9]{1,3})", text)
    if not both and not re.fullmatch(r"[0-9]{1,9}", text):
        raise ValueError(f'address "{text[:20]}" is neither a number nor UNIVERSE.SLOT')
    universe, slot = (int(both[1]), int(both[2])) if both else split_absolute(int(text))
    if not (1 <= universe <= UNIVERSE_LAST and 1 <= slot <= SLOTS):
        raise ValueError(f"universe {universe}, slot {slot} does not exist")
    return universe, slot


def _ident(node: Element) -> tuple[int | None, str]:
    """The channel, and what the file calls it where that is no number."""
    text = (node.findtext("FixtureID") or "").strip()
    for given in (text, (node.findtext("FixtureIDNumeric") or "").strip()):
        if re.fullmatch(r"[0-9]{1,5}", given) and int(given):
            return int(given), "" if text.isdigit() else text[:60]
    return None, text[:60] if text != "0" else ""


def _position(node: Element, parents: tuple[Element, ...], positions: dict[str, str]) -> str | None:
    named = positions.get((node.findtext("Position") or "").strip())
    if named:
        return named[:200]
    hung = (p.get("name") for p in reversed(parents) if p.tag in ("Truss", "Support", "GroupObject"))
    return next((name.strip()[:200] for name in hung if name and name.strip()), None)


def _inverted(node: Element) -> tuple[str, ...] | None:
    said = {axis: node.findtext(f"DMXInvert{axis}") for axis in ("Pan", "Tilt")}
    if all(text is None for text in said.values()):
        return None
    return tuple(axis for axis, text in said.items() if (text or "").strip().casefold() in ("true", "1"))


def embedded(path: Path, specs: set[str]) -> dict[str, bytes | Problem]:
    """The fixture files of these names that lie in the archive, with or without the .gdtf behind them."""
    out: dict[str, bytes | Problem] = {}
    try:
        with zipfile.ZipFile(path) as archive:
            entries = {entry.filename: entry for entry in archive.infolist()}
            for spec in sorted(specs):
                entry = entries.get(spec) or entries.get(f"{spec}.gdtf")
                if entry is None:
                    continue
                if entry.flag_bits & 1 or entry.compress_type not in METHODS or entry.file_size > FILE_MOST:
                    out[spec] = Problem(
                        spec, "is encrypted, too large, or packed in a way that is not read here"
                    )
                    continue
                with archive.open(entry) as member:
                    out[spec] = member.read(FILE_MOST)
    except BROKEN as wrong:
        out.setdefault("", Problem("", f"cannot be unpacked ({wrong or type(wrong).__name__})"))
    return out
