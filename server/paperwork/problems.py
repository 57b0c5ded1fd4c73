"""What is wrong with a file somebody handed in: all of it, by place, in sentences."""

from dataclasses import dataclass

__all__ = ["FileError", "Problem"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong. where: line, field or control; why: a sentence a technician understands."""

    where: str
    why: str


class FileError(ValueError):
    """A file cannot be used. `problems` lists everything wrong with it; nothing of it was taken."""

    def __init__(self, found: list[Problem]) -> None:
        super().__init__("; ".join(f"{p.where}: {p.why}" if p.where else p.why for p in found))
        self.problems = tuple(found)
