"""Reads the tables that the USDA soil survey answers with: rows of strings and nulls."""

from __future__ import annotations

import html
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import OK, is_number, items, odd, read_object

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_service.public.http import Reply

NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
WHOLE = re.compile(r"\d{1,18}", re.ASCII)
EXCEPTION = re.compile(r"<ServiceException(?:\s[^>]*)?>(.*?)</ServiceException>", re.DOTALL)
TYPE_OF_COLUMN = re.compile(r"\bDataTypeName=(\w+)")
NUMERIC = frozenset(
    ("bigint", "int", "smallint", "tinyint", "real", "float", "decimal", "numeric", "bit")
)
LONGEST = 200


@dataclass(frozen=True, slots=True)
class Column:
    """What a column of ours holds: text, or a number between two limits."""

    low: float = 0.0
    high: float = 0.0
    text: bool = False


Row = dict[str, "float | str | None"]


def read_table(reply: Reply, who: str, columns: Mapping[str, Column]) -> list[Row]:
    """Read the one table of an answer.

    Parameters
    ----------
    reply
        What came back.
    who
        The service and the place, for the error's sentence.
    columns
        What is wanted of it, by the service's names.

    Returns
    -------
    list of dict
        A row each, with the wanted columns; empty where the service has no row.

    Raises
    ------
    Unavailable
        If the service refused or rests, or the answer is not as documented.
    """
    _refuse(reply, who)
    document = read_object(reply, who)
    if not document:  # how the service says that there is no row
        return []
    table = items(document, "Table", who)
    heads = _texts(table[0] if table else None, "the row of names", who)
    if len(set(heads)) != len(heads):
        odd(who, "a column is there twice")
    for name in columns:
        if name not in heads:
            odd(who, f"the column {name} is missing from the answer")
    rows = table[1:]
    if rows and _is_types(rows[0]):
        _check_types(
            dict(zip(heads, _texts(rows[0], "the row of types", who), strict=False)), columns, who
        )
        rows = rows[1:]
    return [_row(row, heads, columns, who) for row in rows]


def key_of(value: float | str | None, name: str, who: str) -> str:
    """Check a key before it goes into a further question: digits and nothing else.

    Parameters
    ----------
    value, name
        The key and what it is called.
    who
        For the error's sentence.

    Raises
    ------
    Unavailable
        If it is no whole number.
    """
    if not isinstance(value, str) or not WHOLE.fullmatch(value):
        odd(who, f"{name} is {_shown(value)}, which is no key")
    return value


def _refuse(reply: Reply, who: str) -> None:
    """Tell the service's ways of saying no from an answer."""
    text = reply.content.decode("utf-8", "replace").strip()
    said = EXCEPTION.search(text)
    if said:
        what = f"refused the request (HTTP {reply.status}): {_shown(html.unescape(said[1]))}"
        raise Unavailable(who, what, retry_later=False)
    if not text.startswith(("{", "[", "<")) and "maintenance" in text.lower():
        raise Unavailable(who, "is under its daily maintenance", retry_later=True)
    if reply.status != OK and not reply.is_web_page:
        raise Unavailable(who, f"refused the request (HTTP {reply.status})", retry_later=False)


def _texts(row: object, what: str, who: str) -> list[str]:
    if not isinstance(row, list):
        odd(who, f"{what} is missing from the answer")
    found = cast("list[object]", row)
    if not all(isinstance(one, str) for one in found):
        odd(who, f"{what} holds something else than text")
    return [str(one).lower() if what.endswith("names") else str(one) for one in found]


def _is_types(row: object) -> bool:
    """Whether a row says of what type each column is; it comes only where it was asked for."""
    cells = cast("list[object]", row) if isinstance(row, list) else []
    return bool(cells) and all("DataTypeName=" in str(cell) for cell in cells)


def _check_types(types: Mapping[str, str], columns: Mapping[str, Column], who: str) -> None:
    """Refuse an answer in which a number of ours is of another kind."""
    for name, column in columns.items():
        said = TYPE_OF_COLUMN.search(types.get(name, ""))
        kind = said[1].lower() if said else ""
        if not column.text and kind not in NUMERIC:
            odd(who, f"{name} is of the type {kind or 'nobody says'}, a number was expected")


def _row(row: object, heads: list[str], columns: Mapping[str, Column], who: str) -> Row:
    cells = cast("list[object]", row) if isinstance(row, list) else []
    if len(cells) != len(heads):
        odd(who, f"a row has {len(cells)} cells, there are {len(heads)} columns")
    named = dict(zip(heads, cells, strict=True))
    return {name: _cell(named[name], name, column, who) for name, column in columns.items()}


def _cell(cell: object, name: str, column: Column, who: str) -> float | str | None:
    """One value: every one comes as a string or null."""
    if cell is None or (isinstance(cell, str) and not cell.strip()):
        return None
    if column.text:
        if not isinstance(cell, str) and not is_number(cell):
            odd(who, f"{name} is {_shown(cell)}, which is no text")
        return _shown(cell)
    text = cell.strip() if isinstance(cell, str) else str(cell) if is_number(cell) else ""
    if not NUMBER.fullmatch(text):
        odd(who, f"{name} is {_shown(cell)}, which is no number")
    number = float(text)
    if not (math.isfinite(number) and column.low <= number <= column.high):
        odd(who, f"{name} is {number:g}, no soil has that ({column.low:g} to {column.high:g})")
    return number


def _shown(value: object) -> str:
    """Text in one line that any database and any terminal takes."""
    whole = str(value).encode("utf-8", "replace").decode("utf-8")
    text = " ".join("".join(one if one.isprintable() else " " for one in whole).split())
    return text if len(text) <= LONGEST else text[:LONGEST] + "…"
