"""What all messages of a phone have in common."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["Entry", "Id", "Message"]

DAY_S = 86_400.0

Id = Annotated[str, Field(min_length=1, max_length=64)]


class Message(BaseModel):
    """Strictly as it is described, with its number."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False)
    n: int


class Entry(Message):
    """Something written down, not a level: a phone without a link keeps it and sends it later, maybe twice.

    entry: the phone's own name for it, "" when it is not kept there. ago_s: how long ago it was written.
    """

    entry: Annotated[str, Field(max_length=40)] = ""
    ago_s: Annotated[float, Field(ge=0, le=DAY_S)] = 0.0
