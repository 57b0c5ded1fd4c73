"""The papers of a rig: what stands in each, in which order."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import groupby

from server.paperwork.printed.addresses import address_plan
from server.paperwork.printed.beam import BEAM
from server.paperwork.printed.handover import handover
from server.paperwork.printed.labels import labels
from server.paperwork.printed.letters import Letters
from server.paperwork.printed.page import Head, Paper
from server.paperwork.printed.rows import NOTES, SAID, Job, Unit, by_channel
from server.paperwork.printed.sheets import SIZES
from server.paperwork.printed.table import Column, Group, lay
from server.paperwork.printed.words import LANGUAGES, Words

__all__ = ["PAPERS", "draw"]

WRITE_MM = 9.0  # high enough to write into by hand (common practice, no source)


def draw(job: Job, letters: Letters) -> bytes:
    """The paper, the labels or the hand-over that a job asks for, as PDF."""
    words = LANGUAGES[job.language]
    if job.name == "labels":
        return labels(job, words, letters)
    if job.name == "handover":
        return handover(job, words, letters)
    wide, fill = PAPERS[job.name]
    size = SIZES[job.size]
    head = Head(job.show, job.venue, words.titles[job.name], job.printed)
    paper = Paper((size[1], size[0]) if wide else size, head, words, letters)
    fill(paper, job, words)
    if not paper.pages:
        paper.fresh()
        paper.say(words.nothing, 10)
    return paper.bytes()


def _columns(words: Words, shares: Mapping[str, float], write: Iterable[str] = ()) -> list[Column]:
    lines = set(write)
    return [
        Column(words.heads[name], share, bold=name == "channel", write=name in lines)
        for name, share in shares.items()
    ]


def _text(number: int | None) -> str:
    return "" if number is None else str(number)


def _positions(units: Iterable[Unit], words: Words, row: Callable[[Unit], Sequence[str]]) -> Iterable[Group]:
    for position, there in groupby(units, key=lambda unit: unit.position):
        yield Group(position or words.no_position, [row(unit) for unit in there])


def _said(unit: Unit, words: Words) -> str:
    """Notes, and what is wrong with it."""
    out = words.out_of_use.format(reason=unit.out) if unit.out else ""
    return "\n".join(text for text in (out, unit.fault, unit.notes) if text)


def _hookup(paper: Paper, job: Job, words: Words) -> None:
    shares = {"channel": 15, "universe": 11, "address": 15, "dimmer": 14, "circuit": 14, "position": 28}
    shares |= {"unit": 11, "type": 38, "mode": 30, "purpose": 36, "colour": 18, "template": 18, "notes": 34}
    rows = [_row(unit, shares, words) for unit in by_channel(job.units)]
    lay(paper, _columns(words, shares, SAID), [Group("", rows)] if rows else [])


def _schedule(paper: Paper, job: Job, words: Words) -> None:
    if not job.units:
        return
    paper.fresh()
    paper.say(words.isolated)
    paper.space(4)
    shares = {"unit": 11, "channel": 15, "type": 40, "purpose": 40, "colour": 18, "template": 18}
    shares |= {"circuit": 14, "dimmer": 14, "universe": 11, "address": 15, "mode": 32, "notes": 46}
    groups = _positions(job.units, words, lambda unit: _row(unit, shares, words))
    lay(paper, _columns(words, shares, SAID), groups)


def _row(u: Unit, columns: Iterable[str], words: Words) -> list[str]:
    """What a unit says in these columns; where nobody has said it, room to write."""
    told = dict(zip(SAID, u.said, strict=True))
    told |= {"channel": _text(u.channel), "universe": u.universes, "address": u.addresses}
    told |= {"position": u.position, "unit": u.unit, "type": u.type, "mode": u.mode, "purpose": u.purpose}
    return [(told | {"notes": _said(u, words)})[name] for name in columns]


def _focus(paper: Paper, job: Job, words: Words, filled: bool = True) -> None:
    if not job.units:
        return
    paper.fresh()
    paper.say(words.isolated)
    paper.say(f"{words.to_fill} {words.focusing}" if filled else words.to_fill)
    paper.space(4)
    shares = {"unit": 11, "channel": 16, "purpose": 30, "type": 31, "colour": 22, "spot": 18, "ds_us": 13}
    shares |= {
        "sl_sr": 13,
        "aim": 17,
        "edge": 13,
        "zoom": 14,
        "top": 13,
        "bottom": 14,
        "left": 13,
        "right": 13,
    }
    shares |= {"iris": 12, "template": 18, "turn": 15, "done": 18, "notes": 24}
    columns = _columns(words, shares, [name for name in shares if name not in ("unit", "channel")])

    def row(u: Unit) -> list[str]:
        beam = dict(zip(BEAM, u.beam, strict=True)) if filled else {}
        paper_says = dict(zip(SAID, u.said, strict=True))
        noted = dict(zip(NOTES, u.focus, strict=True)) if filled else {}
        noted["zoom"] = noted.pop("size", "")
        for name in shares:  # what people typed first, then the filter in its frame, then what is asked for
            said = (noted.get(name, ""), paper_says.get(name, ""), beam.get(name, ""))
            beam[name] = "\n".join(dict.fromkeys(text for text in said if text))
        fixed = {"unit": u.unit, "channel": _text(u.channel), "purpose": u.purpose, "type": u.type}
        if filled:
            fixed["notes"] = "\n".join(text for text in (noted.get("words", ""), u.notes) if text)
        return [{**beam, **fixed}.get(name, "") for name in shares]

    lay(paper, columns, _positions(job.units, words, row), WRITE_MM)


def _focus_blank(paper: Paper, job: Job, words: Words) -> None:
    _focus(paper, job, words, filled=False)


def _faults(paper: Paper, job: Job, words: Words) -> None:
    paper.fresh()
    paper.say(words.isolated)
    paper.space(4)
    shares = {"unit": 12, "channel": 15, "type": 40, "wrong": 70, "by": 24, "finding": 60, "part": 26}
    columns = _columns(words, {**shares, "closed": 30}, ("finding", "part", "closed"))

    def row(u: Unit) -> list[str]:
        out = words.out_of_use.format(reason=u.out) if u.out else ""
        past = [f"{day} {name} {words.steps[what]} {said}".rstrip() for day, name, what, said in u.past]
        wrong = "\n".join(text for text in (out, u.fault, *past) if text)
        by = ", ".join(dict.fromkeys(name for name in (u.out_by, u.fault_by) if name))
        return [u.unit, _text(u.channel), u.type, wrong, by, "", "", ""]

    faulty = [unit for unit in job.units if unit.fault or unit.out or unit.past]
    if faulty:
        lay(paper, columns, _positions(faulty, words, row), WRITE_MM)
    else:
        paper.say(words.nothing, 10)


# Each by its name: whether it lies on its side, and what fills it.
PAPERS: dict[str, tuple[bool, Callable[[Paper, Job, Words], None]]] = {
    "hookup": (True, _hookup),
    "schedule": (True, _schedule),
    "addresses": (False, address_plan),
    "focus": (True, _focus),
    "focus-blank": (True, _focus_blank),
    "faults": (True, _faults),
}
