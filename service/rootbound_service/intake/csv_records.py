"""The rows of a CSV text, each with its line; a broken row costs that row and no other."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

SAID = {
    "unexpected end of data": "a quotation mark is opened and never closed",
    "',' expected after '\"'": "a quotation mark stands in the middle of a cell",
    "';' expected after '\"'": "a quotation mark stands in the middle of a cell",
}
"""What the csv reader means, in words for who wrote the table."""


@dataclass(frozen=True, slots=True)
class Record:
    """One row: the line it starts on and its cells, or what broke it."""

    line: int
    cells: tuple[str, ...]
    broken: str = ""


def records(text: str) -> Iterator[Record]:
    """Split a CSV text into rows.

    Parameters
    ----------
    text
        The text; comma or semicolon, whichever the first line that is not blank has more of.

    Yields
    ------
    Record
        Blank lines among them. A row is broken if its quotes are, or if it has another
        number of cells than the first; reading goes on with the line after it.
    """
    lines = list(io.StringIO(text, newline=""))
    separator = _separator(lines)
    width: int | None = None
    at = 0
    while at < len(lines):
        for start, after, cells, broken in _read(lines, at, separator):
            at = after
            blank = not any(cells)
            width = width or (None if blank else len(cells))
            if not (broken or blank) and len(cells) != width:
                broken = f"it has {len(cells)} cells, the header has {width}"  # noqa: PLW2901
            yield Record(start + 1, cells, broken)
            if broken:
                # A quote left open may have eaten whole rows: begin again on the next line.
                at = start + 1
                break


def _read(
    lines: list[str], at: int, separator: str
) -> Iterator[tuple[int, int, tuple[str, ...], str]]:
    """Rows from line ``at`` on: first line, line after, cells, and what the csv reader says."""
    reader = csv.reader(lines[at:], delimiter=separator, strict=True)
    while True:
        start = at + reader.line_num
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield start, start + 1, (), SAID.get(str(error), str(error))
            return
        yield start, at + reader.line_num, tuple(cell.strip() for cell in cells), ""


def _separator(lines: list[str]) -> str:
    first = next((row for row in lines if row.strip()), "")
    return ";" if first.count(";") > first.count(",") else ","
