"""Reading one value as people write it: from a flag, a cell of a table, TOML or JSON."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING

from rootbound_service.intake.wrong import UNSEEN, nearest, shown, wrong

if TYPE_CHECKING:
    from pydantic_core import PydanticCustomError

    from rootbound_service.intake.limits import Limit

NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
DECIMAL_COMMA = re.compile(r"([+-]?\d+),(\d+)", re.ASCII)
DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
DAY_WANTED = "write the day as year-month-day, for example 2026-05-04"
YES = ("yes", "true", "y", "1")
NO = ("no", "false", "n", "0")


def filled(values: Mapping[str, object]) -> dict[str, object]:
    """Keep what was given: an empty cell or an unused flag is nothing."""
    return {
        name: value
        for name, value in values.items()
        if value is not None and not (isinstance(value, str) and not value.strip())
    }


def read_number(value: object, limit: Limit) -> float:
    """Read a number within its limit.

    Parameters
    ----------
    value
        A number, or text as a person wrote it.
    limit
        What it may be.

    Returns
    -------
    float
        The number, in the limit's unit.

    Raises
    ------
    PydanticCustomError
        Naming what was given and what would be right.
    """
    number = _number(value, limit)
    if not math.isfinite(number):
        raise wrong(f"{shown(value)} is not a finite number", limit.wanted())
    if number < 0 <= limit.low:
        raise wrong(f"{number:g} is negative", f"{limit.wanted()}, never negative")
    if not limit.low <= number <= limit.high:
        side = "below" if number < limit.low else "above"
        raise wrong(f"{number:g} is {side} what it can be", limit.wanted())
    return number


def _number(value: object, limit: Limit) -> float:
    """Text or number to float, before any limit."""
    if isinstance(value, str):
        text = value.strip()
        comma = DECIMAL_COMMA.fullmatch(text)
        if comma:
            raise _comma(text, comma[1], comma[2])
        if not NUMBER.fullmatch(text):
            raise wrong(f"{shown(text)} is not a number", limit.wanted())
        return float(text)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise wrong(f"{shown(value)} is not a number", limit.wanted())
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _comma(text: str, before: str, after: str) -> PydanticCustomError:
    """A comma in a number is decimal in much of the world, and parts thousands in the rest."""
    point = f"write {before}.{after} with a point"
    if len(after) == len("000"):
        return wrong(
            f"{shown(text)} has a comma", f"{point}, or {before}{after} if it is thousands"
        )
    return wrong(f"{shown(text)} has a decimal comma", point)


def read_whole(value: object, limit: Limit) -> int:
    """Read a whole number within its limit."""
    number = read_number(value, limit)
    if not number.is_integer():
        raise wrong(f"{number:g} is not a whole number", limit.wanted())
    return int(number)


def read_day(value: object) -> date:
    """Read a day, as a TOML date or as text like 2026-05-04."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    text = value.strip() if isinstance(value, str) else ""
    if not DAY.fullmatch(text):
        raise wrong(f"{shown(value)} is not a day", DAY_WANTED)
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise wrong(f"{shown(text)} is not in the calendar", DAY_WANTED) from None


def read_text(value: object, noun: str, longest: int, *, lines: bool = False) -> str:
    """Read text without control characters, of one line unless ``lines``."""
    wanted = f"{noun} is text of 1 to {longest} characters"
    if not isinstance(value, str):
        raise wrong(f"{shown(value)} is not text", wanted)
    text = value.strip() if lines else re.sub(r"[ \t]+", " ", value.strip())
    allowed = "\n\t" if lines else ""
    if lines:
        text = text.replace("\r\n", "\n")
    if any(letter not in allowed and unicodedata.category(letter) in UNSEEN for letter in text):
        raise wrong(f"{shown(text)} holds a line end or a control character", wanted)
    if not 1 <= len(text) <= longest:
        raise wrong(f"has {len(text)} characters", wanted)
    return text


def read_yes_no(value: object) -> bool:
    """Read yes or no."""
    if isinstance(value, bool):
        return value
    word = str(value).strip().lower()
    if word in YES or word in NO:
        return word in YES
    raise wrong(f"{shown(value)} is neither yes nor no", "write yes or no")


def read_word(value: object, noun: str, known: tuple[str, ...]) -> str:
    """Read one of a list of words, naming the nearest where it is none of them."""
    word = re.sub(r"[\s_-]+", " ", str(value)).strip().lower()
    if word in known:
        return word
    guess = nearest(word, known)
    hint = f"did you mean {guess}? " if guess else ""
    raise wrong(f"{shown(value)} is not a known {noun}", f"{hint}known: {', '.join(known)}")
