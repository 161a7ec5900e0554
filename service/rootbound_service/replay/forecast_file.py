"""Forecasts as they were issued, from a table as CSV: what each night could have known."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.crop.table import heat_limits
from rootbound_rules.season.values import REQUIRED_SERIES
from rootbound_service.desk.weather_file import LIMITS, MISSING_BELOW
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_table import Columns, read_table
from rootbound_service.intake.wrong import shown
from rootbound_service.nights.coming import MOST_GAP, coming_days
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.forecast.day import Forecast
from rootbound_service.weather.places import Place

if TYPE_CHECKING:
    from rootbound_rules.season.coming import ComingDays
    from rootbound_rules.season.values import FieldSeason
    from rootbound_service.intake.report import Row

FURTHER = ("solar_mj", "dewpoint_c", "wind_m_s")
NAMES = (
    "the first line names the columns: issued, date, "
    f"{', '.join(REQUIRED_SERIES)}; further {', '.join(FURTHER)}, member"
)
COLUMNS = Columns(
    ("issued", "date", *REQUIRED_SERIES, *FURTHER, "member"),
    ("issued", "date", *REQUIRED_SERIES),
    NAMES,
    "add a line for every day of every issue",
)
MORNING = time(12, tzinfo=UTC)
"""Of a night: issues up to then count. The service's own nights use the same hour."""
MOST_PROBLEMS = 20
MOST_MEMBER = 999
LONGEST = 60
"""Days an issue may look ahead: more is a mistake of the dates. [d]"""


@dataclass(frozen=True, slots=True, eq=False)
class Issues:
    """Forecasts of one place, the oldest first."""

    found: tuple[Forecast, ...]

    def known(self, season: FieldSeason, late: int, night: date) -> ComingDays | None:
        """Put together what a night knew of the coming days.

        Parameters
        ----------
        season
            The field.
        late
            Measured weather reaches the night so many days late. [d]
        night
            The night.

        Returns
        -------
        ComingDays or None
            None without an issue that is fresh enough.
        """
        moment = datetime.combine(night, MORNING)
        times = [one.issued for one in self.found]
        first = bisect_left(times, moment - timedelta(days=MOST_GAP + LONGEST))
        issues = self.found[first : bisect_right(times, moment)][::-1]
        place = Place(Cell("file", 0, 0, season.lat, 0.0))
        limits = heat_limits(season.crop)
        before = night - timedelta(days=1 + late)
        found = coming_days(issues, place, season.elevation_m, before, night, moment, [limits])
        return None if found is None else found.days[limits]


@dataclass(frozen=True, slots=True)
class _Line:
    """One line that is right."""

    issued: datetime
    day: date
    member: int
    values: Mapping[str, float]
    place: str


def read_forecasts(path: Path) -> Issues:
    """Read stored forecasts.

    Parameters
    ----------
    path
        CSV with ``issued,date,tmax_c,tmin_c,rain_mm`` and any of ``solar_mj,dewpoint_c,
        wind_m_s,member``. ``issued`` is a day (its first moment, UTC) or a moment; without an
        offset it is UTC. A day whose vital values are empty ends what its issue tells.

    Returns
    -------
    :class:`Issues`
        The oldest first.

    Raises
    ------
    RefusedInput
        With up to twenty problems, each with its line and column.
    """
    rows = read_table(path, COLUMNS)
    problems: list[Problem] = []
    lines = [line for row in rows if (line := _line(row, problems)) is not None]
    by_issue: dict[datetime, dict[tuple[date, int], _Line]] = {}
    for line in lines:
        days = by_issue.setdefault(line.issued, {})
        twin = days.get((line.day, line.member))
        if twin is not None:
            what = f"{line.day} of this issue stands already in {twin.place}"
            problems.append(Problem(line.place, what, "give each day of a member once"))
        days[line.day, line.member] = line
    if problems:
        raise RefusedInput(_first(problems, path))
    return Issues(tuple(_forecast(at, by_issue[at]) for at in sorted(by_issue)))


def _line(row: Row, problems: list[Problem]) -> _Line | None:
    """Take one line; what is wrong with it joins the problems."""
    before = len(problems)
    problems.extend(row.problems)
    if row.problems:
        return None
    cells = {name: str(cell).strip() for name, cell in row.values.items()}
    issued = _moment(cells["issued"], f"{row.place}, issued", problems)
    day = _day(cells["date"], f"{row.place}, date", problems)
    member = _member(cells.get("member", ""), f"{row.place}, member", problems)
    values = {
        name: _number(cells[name], name, f"{row.place}, {name}", problems)
        for name in (*REQUIRED_SERIES, *FURTHER)
        if name in cells
    }
    if issued is not None and day is not None:
        ahead = (day - issued.date()).days
        if not -1 <= ahead <= LONGEST:
            what = f"{day} lies {ahead} days after the issue of {issued.date()}"
            wanted = f"give days from the issue's own to {LONGEST} after it"
            problems.append(Problem(f"{row.place}, date", what, wanted))
    if values["tmax_c"] < values["tmin_c"]:
        what = f"tmax_c {values['tmax_c']:g} is below tmin_c {values['tmin_c']:g}"
        problems.append(Problem(row.place, what, "the highest temperature comes first"))
    if len(problems) > before or issued is None or day is None:
        return None
    return _Line(issued, day, member, values, row.place)


def _moment(text: str, where: str, problems: list[Problem]) -> datetime | None:
    """Moment of issue, aware UTC."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        wanted = "write 2012-07-14 or 2012-07-14T06:00"
        problems.append(Problem(where, f"{shown(text)} is no moment", wanted))
        return None
    return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)


def _day(text: str, where: str, problems: list[Problem]) -> date | None:
    """Day that is forecast."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        problems.append(Problem(where, f"{shown(text)} is no day", "write 2012-07-14"))
        return None


def _member(text: str, where: str, problems: list[Problem]) -> int:
    """Member of an ensemble; without one it is 0."""
    if not text:
        return 0
    if text.isdecimal() and text.isascii() and int(text) <= MOST_MEMBER:
        return int(text)
    wanted = f"give a whole number from 0 to {MOST_MEMBER}"
    problems.append(Problem(where, f"{shown(text)} is no member", wanted))
    return 0


def _number(text: str, name: str, where: str, problems: list[Problem]) -> float:
    """A value within its limits, NaN for an empty cell."""
    if not text:
        return math.nan
    try:
        value = float(text)
    except ValueError:
        problems.append(Problem(where, f"{shown(text)} is not a number", "give one, as 12.5"))
        return math.nan
    if value <= MISSING_BELOW:
        return math.nan
    limit = LIMITS[name]
    if not limit.low <= value <= limit.high:
        problems.append(Problem(where, f"is {value:g}", limit.wanted()))
    return value


def _forecast(issued: datetime, lines: Mapping[tuple[date, int], _Line]) -> Forecast:
    """One issue as the service keeps it; what a member lacks is missing."""
    days, members = {day for day, _ in lines}, sorted({member for _, member in lines})
    start, names = min(days), (*REQUIRED_SERIES, *FURTHER)
    given = [name for name in names if any(name in line.values for line in lines.values())]
    values = np.full((len(given), len(members), (max(days) - start).days + 1), np.nan)
    for (day, member), line in lines.items():
        at = (day - start).days
        for row, name in enumerate(given):
            values[row, members.index(member), at] = line.values[name]
    made = np.zeros((len(given), values.shape[2]), np.uint8)
    return Forecast("file", 0.0, 0.0, issued, issued, start, tuple(given), values, made)


def _first(problems: Sequence[Problem], path: Path) -> tuple[Problem, ...]:
    """The first problems with the file's name, and how many more there are."""
    first = [Problem(f"{path.name}, {one.where}", one.what, one.wanted) for one in problems]
    rest = len(first) - MOST_PROBLEMS
    more = [Problem(path.name, f"has {rest} more problems", "mend these first")] if rest > 0 else []
    return (*first[:MOST_PROBLEMS], *more)
