"""Papers to test with: units, jobs, and what another library reads in the PDF."""

import io
from dataclasses import dataclass, replace
from typing import Any

import pypdfium2
from PIL import Image
from pypdf import PdfReader

from server.paperwork.printed.letters import Letters
from server.paperwork.printed.papers import draw
from server.paperwork.printed.rows import Job, Unit

__all__ = ["Read", "job", "many", "picture", "printed", "read", "unit"]

MM = 25.4 / 72  # of a point


@dataclass(frozen=True, slots=True)
class Read:
    """A PDF as pypdf reads it: the text of each page, and their sizes in mm."""

    pages: list[str]
    sizes: list[tuple[float, float]]

    @property
    def text(self) -> str:
        """All of it, with single spaces."""
        return " ".join(" ".join(self.pages).split())


def unit(channel: int | None = 21, **fields: Any) -> Unit:
    """A moving light on the first electric, at universe 2 address 1."""
    told: dict[str, Any] = {"id": f"demo-{channel}", "unit": "3", "position": "LX 1", "purpose": "Special A"}
    told |= {"type": "Moving spot", "mode": "26-slot 16 bit"} | fields
    universe, address, slots = (
        told.pop(key, other) for key, other in (("universe", 2), ("address", 1), ("slots", 26))
    )
    spans = () if address is None else ((universe, address, address + slots - 1),)
    return Unit(channel=channel, **{"spans": spans, **told})


def many(count: int) -> list[Unit]:
    """So many units of 26 slots, twelve at each position, nineteen in each universe."""
    return [
        unit(
            at + 1,
            unit=str(at % 12 + 1),
            position=f"Bar {at // 12 + 1}",
            purpose=f"Area {at % 9 + 1} warm",
            universe=at // 19 + 1,
            address=at % 19 * 26 + 1,
        )
        for at in range(count)
    ]


def job(name: str, *units: Unit, **more: Any) -> Job:
    """A job for that paper of these units."""
    show, venue, at = "The Salt Ferry", "Marrow Street Playhouse", "2026-11-25 14:05"
    wanted = Job(name, "a4", "en", show, venue, at, list(units), page="192.168.1.20:8010")
    return replace(wanted, **more)


def printed(wanted: Job, letters: Letters | None = None) -> bytes:
    """The PDF, with the shipped font alone unless told otherwise."""
    return draw(wanted, letters or Letters())


def read(pdf: bytes) -> Read:
    """What pypdf makes of it; it fails on a file that is broken."""
    pages = PdfReader(io.BytesIO(pdf), strict=True).pages
    sizes = [(float(page.mediabox.width) * MM, float(page.mediabox.height) * MM) for page in pages]
    return Read([page.extract_text() for page in pages], sizes)


def picture(pdf: bytes, page: int = 0, dots: float = 200) -> Image.Image:
    """A page as PDFium draws it, so many dots to the inch, in grey."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        drawn: Image.Image = document[page].render(scale=dots / 72).to_pil()
        return drawn.convert("L")
    finally:
        document.close()
