"""What the shapes of the API have in common: numbers, days, and that nothing unknown is taken."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated

from fastapi import Path
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

MOST_ID = 2**31 - 1
"""The largest number a row can have: a larger one is refused before the database sees it."""
Id = Annotated[int, Path(ge=1, le=MOST_ID)]
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
PRINTED = r"^[^\x00-\x1f\x7f]*$"
"""Without control characters, which no name needs and no database agrees on."""


class In(BaseModel):
    """Base of what is taken: an unknown name is refused, and so is a number in quotes."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class Out(BaseModel):
    """Base of what is given."""

    model_config = ConfigDict(extra="forbid")


def _day(value: object) -> dt.date:
    """Read a day as RFC 3339 writes it, and nothing else that a library would also take."""
    if isinstance(value, dt.date):
        return value
    if isinstance(value, str) and DAY.fullmatch(value):
        return dt.date.fromisoformat(value)
    wanted = "a day is written as 2026-05-04"
    raise ValueError(wanted)


Day = Annotated[dt.date, BeforeValidator(_day)]
Line = Annotated[str, Field(pattern=PRINTED)]
