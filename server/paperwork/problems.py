"""What is wrong with a file somebody handed in: all of it, by place, in sentences."""

from dataclasses import dataclass

__all__ = ["FileError", "Problem"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong. where: line, field or control; why: a sentence a technician understands."""

    where: str
    why: str

    def __str__(self) -> str:
        return f"{self.where}: {self.why}" if self.where else self.why


class FileError(ValueError):
    """A file cannot be used. `problems` lists everything wrong with it; nothing of it was taken."""

    def __init__(self, found: list[Problem]) -> None:
        super().__init__("; ".join(map(str, found)))
        self.problems = tuple(found)
