"""What the calls about the focus call answer."""

from pydantic import Field

from server.api.patch_answers import Answer as _Answer

__all__ = ["CallAnswer", "FocusOfOne", "FocusRow", "HandChange"]


class FocusRow(_Answer):
    """A unit of the focus list: its mark ("todo", "done", "back") and by whom, to whom given, who is there.

    at: when it was marked, wall-clock seconds. note: what its beam is to do, by field. kept: whether there
    are values from when it was done.
    """

    fixture: str
    channel: int | None
    position: str
    unit: str
    purpose: str
    mark: str
    given: str | None
    by: str
    at: float
    note: dict[str, str]
    kept: bool
    now: list[str]


class _Raw(_Answer):
    raw: int = Field(ge=0)


class FocusOfOne(FocusRow):
    """The same with the values it had when it was done, as `set` takes them."""

    values: dict[str, _Raw]


class CallAnswer(_Answer):
    """The lead's settings for the focus call: shares of full, seconds, and which units are on beside it."""

    level: float
    fade_s: float
    beside: str
    beside_level: float


class HandChange(_Answer):
    """What keeping what is in hand changes in a look: raw values of one control; was: null for none."""

    fixture: str
    control: str
    was: int | None
    now: int
