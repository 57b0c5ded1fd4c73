"""What a focus call keeps: of each unit on its list, and for everybody."""

from dataclasses import dataclass, field

__all__ = ["BESIDE", "MARKS", "NOTE_LENGTH", "Call", "Focus", "FocusNote"]

MARKS = ("todo", "done", "back")  # to do, done, come back to it
BESIDE = ("", "position", "purpose")
NOTE_LENGTH = {"words": 200}  # characters; each other field of a note is what is called out, 60 at most


@dataclass(frozen=True, slots=True)
class FocusNote:
    """What a beam is to do: where its bright spot goes, its edge, its cuts. "" where nobody said."""

    spot: str = ""
    edge: str = ""
    size: str = ""
    top: str = ""
    bottom: str = ""
    left: str = ""
    right: str = ""
    colour: str = ""
    template: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Focus:
    """How far a unit is: given to whom (None: whoever comes to it), and its mark.

    name, at: who marked it last, as they were called then, and when (wall-clock seconds). values: raw values
    as they were when it was done, by control key.
    """

    given: str | None = None
    mark: str = "todo"
    name: str = ""
    at: float = 0.0
    note: FocusNote = FocusNote()
    values: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Call:
    """What the lead sets for the focus call.

    level: 0..1 that the unit comes up at. fade_s: seconds the last one takes to go down, once the next is up.
    beside: which others are on as well, of BESIDE; beside_level: 0..1 at which.
    """

    level: float = 0.5
    fade_s: float = 2.0
    beside: str = ""
    beside_level: float = 0.2
