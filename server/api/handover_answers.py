"""What the calls about handing over answer."""

from server.api.patch_answers import Answer

__all__ = ["HandedBefore", "HandoverCompared"]


class _Pack(Answer):
    at: float
    show: str
    venue: str
    by: str


class _Difference(Answer):
    unit: str
    was: str
    now: str


class _LookDiffers(Answer):
    name: str
    units: list[str]


class HandoverCompared(Answer):
    """What is otherwise now than in that pack; units as people call them now, or called them then.

    still, over, new: faults that were open both times, only then, only now. looks: of the same name, with the
    units that they ask something else of.
    """

    then: _Pack
    added: list[_Difference]
    gone: list[_Difference]
    moved: list[_Difference]
    readdressed: list[_Difference]
    retyped: list[_Difference]
    still: list[_Difference]
    over: list[_Difference]
    new: list[_Difference]
    looks: list[_LookDiffers]


class HandedBefore(Answer):
    """The hand-overs that are kept for the venue, newest first; null while there is none to compare with."""

    packs: list[_Pack]
    compared: HandoverCompared | None
