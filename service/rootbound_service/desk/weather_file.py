"""A table of daily weather as CSV: checked line by line, every problem named by its line."""

from __future__ import annotations

import math
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np

from rootbound_rules.season.values import OPTIONAL_SERIES, REQUIRED_SERIES, DailyWeather
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_records import Record, records
from rootbound_service.intake.files import read_text_file
from rootbound_service.intake.limits import Limit

COLUMNS = ("date", *REQUIRED_SERIES, *OPTIONAL_SERIES)
MISSING_BELOW = -900.0
"""Services write -999 or -9999 where they have nothing."""
MOST_PROBLEMS = 20
LIMITS = {
    "tmax_c": Limit("highest temperature", -60, 60, "degC; is it in Fahrenheit?"),
    "tmin_c": Limit("lowest temperature", -70, 50, "degC; is it in Fahrenheit?"),
    "rain_mm": Limit("rain", 0, 610, "mm a day"),
    "solar_mj": Limit("radiation", 0, 60, "MJ/m2 a day; is it in W/m2?"),
    "dewpoint_c": Limit("dew point", -70, 45, "degC"),
    "rhmax_pct": Limit("highest humidity", 2, 110, "%"),
    "rhmin_pct": Limit("lowest humidity", 0, 110, "%"),
    "wind_m_s": Limit("wind at 2 m", 0, 35, "m/s"),
    "et0_mm": Limit("reference evapotranspiration", 0, 25, "mm a day"),
    "irrigation_mm": Limit("irrigation", 0, 300, "mm a day"),
}


def read_weather(path: Path) -> tuple[DailyWeather, tuple[str, ...]]:
    """Read daily weather for a trace.

    Parameters
    ----------
    path
        CSV with ``date,tmax_c,tmin_c,rain_mm`` and any further column of ``COLUMNS``; days in
        order, none left out. An empty cell or -999 is a missing value; rain may not be missing.

    Returns
    -------
    tuple
        The days, and sentences about values that are missing.

    Raises
    ------
    RefusedInput
        With up to twenty problems, each with its line.
    """
    rows = [row for row in records(read_text_file(path)) if row.broken or any(row.cells)]
    if not rows:
        raise RefusedInput((Problem(path.name, "is empty", f"give columns {_wanted()}"),))
    names = [cell.strip().lower() for cell in rows[0].cells]
    _check_header(names, rows[0].line)
    problems: list[Problem] = []
    days = [_day(row, names, problems) for row in rows[1:]]
    _check_dates(days, rows[1:], problems)
    if problems or not days:
        raise RefusedInput(_first(problems, path, days))
    columns = {
        name: np.array([day.get(name, math.nan) for day in days], float)
        for name in COLUMNS[1:]
        if name in names
    }
    start = date.fromordinal(int(days[0]["date"]))
    return DailyWeather(start, **columns), _remarks(columns)


def _check_header(names: list[str], line: int) -> None:
    """Every needed column, no unknown one, none twice."""
    found = [
        Problem(f"line {line}, {name}", "is no column of a weather table", f"use {_wanted()}")
        for name in names
        if name not in COLUMNS
    ]
    for name in COLUMNS:
        needed = name in ("date", *REQUIRED_SERIES)
        if names.count(name) > 1 or (needed and name not in names):
            what = "stands twice" if name in names else "is missing"
            found.append(Problem(f"line {line}, {name}", what, "name this column once"))
    if found:
        raise RefusedInput(tuple(found))


def _day(row: Record, names: list[str], problems: list[Problem]) -> dict[str, float]:
    """One line as numbers; what is wrong with it joins the problems."""
    where = f"line {row.line}"
    if row.broken or len(row.cells) != len(names):
        what = f"has {len(row.cells)} cells, the header {len(names)}"
        problems.append(Problem(where, what, "give one cell for each column"))
        return {"date": math.nan}
    day = {"date": math.nan}
    for name, cell in zip(names, row.cells, strict=True):
        text = cell.strip()
        try:
            if name == "date":
                day[name] = date.fromisoformat(text).toordinal()
            elif text and float(text) > MISSING_BELOW:
                day[name] = _within(name, float(text))
            elif name == "rain_mm":
                problems.append(Problem(f"{where}, rain_mm", "is missing", "write 0 if none fell"))
        except ValueError as error:
            problems.append(_cell_problem(f"{where}, {name}", text, name, str(error)))
    if day.get("tmax_c", math.inf) < day.get("tmin_c", -math.inf):
        what = f"tmax_c {day['tmax_c']:g} is below tmin_c {day['tmin_c']:g}"
        problems.append(Problem(where, what, "the highest temperature comes first"))
    return day


def _within(name: str, value: float) -> float:
    """A number within the limits of its column."""
    limit = LIMITS[name]
    if not limit.low <= value <= limit.high:
        raise ValueError(f"is {value:g}; {limit.wanted()}")
    return value


def _cell_problem(where: str, text: str, name: str, why: str) -> Problem:
    """Say what is wrong with one cell."""
    if "; " in why:
        what, wanted = why.split("; ", 1)
        return Problem(where, what, wanted)
    wanted = "write the day as 2026-05-04" if name == "date" else "give a number, as 12.5"
    return Problem(where, f'"{text}" cannot be read', wanted)


def _check_dates(days: list[dict[str, float]], rows: list[Record], problems: list[Problem]) -> None:
    """Days follow each other without gap or repeat."""
    for (before, day), row in zip(pairwise(days), rows[1:], strict=False):
        step = day["date"] - before["date"]
        if not math.isnan(step) and step != 1.0:
            expected = date.fromordinal(int(before["date"])) + timedelta(days=1)
            what = f"{date.fromordinal(int(day['date']))} stands where {expected} belongs"
            wanted = "give every day once, in order"
            problems.append(Problem(f"line {row.line}, date", what, wanted))


def _first(
    problems: list[Problem], path: Path, days: list[dict[str, float]]
) -> tuple[Problem, ...]:
    """The first problems, and how many more there are."""
    if not days:
        return (Problem(path.name, "has no day under its header", "add days"),)
    rest = len(problems) - MOST_PROBLEMS
    more = (
        (Problem(path.name, f"has {rest} more problems", "mend these first"),) if rest > 0 else ()
    )
    return (*problems[:MOST_PROBLEMS], *more)


def _remarks(columns: dict[str, np.ndarray]) -> tuple[str, ...]:
    """One sentence for each column with missing values."""
    found: list[str] = []
    for name, values in columns.items():
        gaps = int(np.isnan(values).sum())
        if gaps:
            how = "bridged in a straight line" if name in ("tmax_c", "tmin_c") else "estimated"
            if name == "irrigation_mm":
                how = "taken as none"
            found.append(f"{name}: {gaps} of {len(values)} days are missing and {how}")
    return tuple(found)


def _wanted() -> str:
    """The columns in words."""
    needed, further = ", ".join(COLUMNS[:4]), ", ".join(COLUMNS[4:])
    return f"{needed} and any of {further}"
