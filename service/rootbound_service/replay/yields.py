"""Yields of past years from a table as CSV, every problem named by its line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Literal

from rootbound_rules.crop.yields import t_per_ha_of_bushels
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_table import Columns, read_table
from rootbound_service.intake.report import Row
from rootbound_service.intake.wrong import shown
from rootbound_service.intake.yields import MOST_T_HA

Unit = Literal["bu/ac", "t/ha"]
UNITS: dict[str, Unit] = {"yield_bu_ac": "bu/ac", "yield_t_ha": "t/ha"}
"""By the column's name."""
FIRST_YEAR, LAST_YEAR = 1800, 2199
NAMES = f"the first line names the columns: year and one of {' or '.join(UNITS)}"
COLUMNS = Columns(("year", *UNITS), ("year",), NAMES, "add a line for every year")
MOST_PROBLEMS = 20


@dataclass(frozen=True, slots=True)
class Yields:
    """Yields of one place by year."""

    unit: Unit
    by_year: dict[int, float]
    """In the order of the years; a year without a yield is left out."""


def read_yields(path: Path, crop: str = "maize") -> Yields:
    """Read a table of yields.

    Parameters
    ----------
    path
        CSV with ``year`` and one of ``yield_bu_ac`` and ``yield_t_ha``. An empty yield is a
        year whose yield is not known; a year may not be left out unsaid.
    crop
        Whose bushel it is.

    Returns
    -------
    :class:`Yields`
        In the table's own unit.

    Raises
    ------
    RefusedInput
        With up to twenty problems, each with the file, its line and its column.
    """
    try:
        rows = read_table(path, COLUMNS)
        column = _column(rows, path)
    except RefusedInput as refused:
        raise RefusedInput(tuple(_in_file(one, path) for one in refused.problems)) from None
    most = MOST_T_HA / (1.0 if UNITS[column] == "t/ha" else t_per_ha_of_bushels(crop))
    problems: list[Problem] = []
    found: dict[int, tuple[str, float]] = {}
    for row in rows:
        _take(row, column, most, found, problems)
    if not any(row.problems for row in rows):
        problems += _skipped({year: place for year, (place, _) in found.items()})
    known = {year: found[year][1] for year in sorted(found) if not math.isnan(found[year][1])}
    if not problems and not known:
        problems.append(Problem(path.name, "has no yield", "give the yield of some years"))
    if problems:
        first = problems[:MOST_PROBLEMS]
        if len(problems) > MOST_PROBLEMS:
            what = f"has {len(problems) - MOST_PROBLEMS} more problems"
            first.append(Problem(path.name, what, "mend these first"))
        raise RefusedInput(tuple(_in_file(one, path) for one in first))
    return Yields(UNITS[column], known)


def _column(rows: Sequence[Row], path: Path) -> str:
    """Return the one column of yields."""
    whole = next((row for row in rows if not row.problems), None)
    if whole is None:
        raise RefusedInput(tuple(one for row in rows for one in row.problems)[:MOST_PROBLEMS])
    given = [name for name in UNITS if name in whole.values]
    if len(given) != 1:
        what = "has yields in two units" if given else "has no column of yields"
        raise RefusedInput((Problem(path.name, what, NAMES),))
    return given[0]


def _take(
    row: Row,
    column: str,
    most: float,
    found: dict[int, tuple[str, float]],
    problems: list[Problem],
) -> None:
    """Take one line, or say what is wrong with it."""
    problems.extend(row.problems)
    if row.problems:
        return
    year = _year(row, problems)
    text = str(row.values[column])
    amount = _amount(text)
    if amount is None:
        wanted = "give a number, or leave the cell empty where the yield is not known"
        problems.append(Problem(f"{row.place}, {column}", f"{shown(text)} is not a number", wanted))
    elif not math.isnan(amount) and not 0.0 <= amount <= most:
        wanted = f"give a yield between 0 and {most:.0f} {UNITS[column]}"
        problems.append(Problem(f"{row.place}, {column}", f"is {amount:g}", wanted))
    if year is None:
        return
    if year in found:
        what = f"{year} stands already in {found[year][0]}"
        problems.append(Problem(f"{row.place}, year", what, "give every year once"))
        return
    found[year] = (row.place, math.nan if amount is None else amount)


def _year(row: Row, problems: list[Problem]) -> int | None:
    """Return the year of a line, or None where it is none."""
    text = str(row.values["year"]).strip()
    if text.isdecimal() and text.isascii() and FIRST_YEAR <= int(text) <= LAST_YEAR:
        return int(text)
    what = f"{shown(text)} is not a year" if text else "is missing"
    problems.append(Problem(f"{row.place}, year", what, "write the year as 2012"))
    return None


def _amount(text: str) -> float | None:
    """Return a number, NaN for an empty cell, None for what cannot be read."""
    if not text.strip():
        return math.nan
    try:
        amount = float(text)
    except ValueError:
        return None
    return amount if math.isfinite(amount) else None


def _skipped(places: dict[int, str]) -> Sequence[Problem]:
    """Say which years are left out, at the line of the year after."""
    return [
        Problem(
            f"{places[year]}, year",
            f"the year before {year} is {before}, {_between(before, year)} left out",
            "give every year a line, with an empty yield where it is not known",
        )
        for before, year in pairwise(sorted(places))
        if year > before + 1
    ]


def _between(before: int, year: int) -> str:
    """Name the years between two."""
    first, last = before + 1, year - 1
    return f"{first} is" if first == last else f"{first} to {last} are"


def _in_file(problem: Problem, path: Path) -> Problem:
    """Name the file in front of the place."""
    if problem.where.startswith(path.name):
        return problem
    return Problem(f"{path.name}, {problem.where}", problem.what, problem.wanted)
