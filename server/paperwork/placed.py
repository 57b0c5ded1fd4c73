"""How a further start address and a place in a drawing are written in JSON, in a file and in a request."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from server.rig.place import UPRIGHT

__all__ = ["PlacedFields", "StartFields"]

Text = Annotated[str, Field(max_length=200)]
Metres = Annotated[float, Field(ge=-10_000, le=10_000)]


class _Part(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)


class StartFields(_Part):
    """One more start address: number from 2, as GDTF counts its DMXBreaks."""

    number: Annotated[int, Field(ge=2, le=64)]
    universe: int
    address: int


class PlacedFields(_Part):
    """Where a drawing says that it hangs, in metres, and how it is turned (the MVR matrix)."""

    x_m: Metres
    y_m: Metres
    z_m: Metres
    rotation: Annotated[
        list[Annotated[float, Field(ge=-1.001, le=1.001)]], Field(min_length=9, max_length=9)
    ] = list(UPRIGHT)
    uuid: Text = ""
    name: Text = ""
    layer: Text = ""
