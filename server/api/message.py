"""What all messages of a phone have in common."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["Id", "Message"]

Id = Annotated[str, Field(min_length=1, max_length=64)]


class Message(BaseModel):
    """Strictly as it is described, with its number."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False)
    n: int
