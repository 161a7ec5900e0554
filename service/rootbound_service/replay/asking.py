"""Which seasons are asked for: years and wall classes as people write them, held to the weather."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.replay.runs import Asked, in_year, with_class, years_in

if TYPE_CHECKING:
    from rootbound_rules.season.values import DailyWeather
    from rootbound_service.desk.season_file import DeskField

ENOUGH_YEARS = 10
"""Earlier years from which on a season is played unasked: with fewer the nights say nothing."""
CLASSES = (0, 1, 2, 3)
FIRST_YEAR, LAST_YEAR = 1800, 2199
MOST_APART_DEG = 0.1
"""Fields further apart than this hardly have one weather: some 10 km. Our choice. [deg]"""


@dataclass(frozen=True, slots=True)
class Task:
    """The seasons to play, and what to know about them."""

    asked: tuple[Asked, ...]
    remarks: tuple[str, ...]


def read_years(text: str) -> tuple[int, ...]:
    """Read years as people write them.

    Parameters
    ----------
    text
        Years and spans of years with commas between them: ``1987-2004,2012``.

    Returns
    -------
    tuple of int
        In order, each once.

    Raises
    ------
    RefusedInput
        If a part is no year and no span.
    """
    found: set[int] = set()
    for part in text.split(","):
        match = re.fullmatch(r"\s*(\d{4})(?:\s*-\s*(\d{4}))?\s*", part, re.ASCII)
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
        if not FIRST_YEAR <= first <= last <= LAST_YEAR:
            what = f'"{part.strip()}" is no year and no span of years'
            raise RefusedInput((Problem("--years", what, "write 1987-2004 or 1988,2012"),))
        found.update(range(first, last + 1))
    return tuple(sorted(found))


def read_classes(text: str) -> tuple[int, ...]:
    """Read wall classes as people write them.

    Parameters
    ----------
    text
        Classes with commas between them: ``0,2,3``.

    Returns
    -------
    tuple of int
        In order, each once.

    Raises
    ------
    RefusedInput
        If a part is no wall class.
    """
    parts = [part.strip() for part in text.split(",")]
    wrong = [part for part in parts if part not in map(str, CLASSES)]
    if wrong:
        wanted = "give classes from 0 (crumbles) to 3 (hard and shiny), as 0,2,3"
        raise RefusedInput((Problem("--classes", f'"{wrong[0]}" is no wall class', wanted),))
    return tuple(sorted({int(part) for part in parts}))


def ask(
    fields: Sequence[DeskField],
    weather: DailyWeather,
    years: Sequence[int] | None = None,
    classes: Sequence[int] | None = None,
) -> Task:
    """Choose the seasons of some fields.

    Parameters
    ----------
    fields
        As their files tell them, in one place.
    weather
        Days of the place.
    years
        Of planting; None: all that lie in the weather with ten earlier years or more.
    classes
        Wall classes to find; None: what each field's own digs found.

    Raises
    ------
    RefusedInput
        If two fields have one name, or a year's season does not lie in the weather.
    """
    _check_names(fields)
    asked: list[Asked] = []
    remarks = list(_remarks(fields))
    for field in fields:
        chosen, said = _years(field, weather, years)
        remarks += said
        season = field.season
        found = [season] if classes is None else [with_class(season, one) for one in classes]
        asked += [Asked(field.name, in_year(one, year)) for one in found for year in chosen]
    return Task(tuple(asked), tuple(dict.fromkeys(remarks)))


def _check_names(fields: Sequence[DeskField]) -> None:
    """Refuse two fields of one name: nobody could tell their rows apart."""
    names = [field.name for field in fields]
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    if twice:
        wanted = "give each field's file a name of its own under [field]"
        raise RefusedInput((Problem(twice[0], "is the name of two fields", wanted),))


def _years(
    field: DeskField, weather: DailyWeather, wanted: Sequence[int] | None
) -> tuple[Sequence[int], list[str]]:
    """Years to play, and a remark where some are left out."""
    able = years_in(field.season, weather)
    if not able:
        what = f"runs from {weather.start} to {weather.end}"
        more = f"no season of {field.name} lies in it with a whole year before"
        raise RefusedInput((Problem("weather", f"{what}: {more}", "give more years of it"),))
    if wanted is not None:
        _check_years(wanted, able)
        return wanted, []
    enough = years_in(field.season, weather, ENOUGH_YEARS)
    if not enough or enough == able:
        return able, []
    left = f"seasons of {able[0]} to {enough[0] - 1} are left out"
    why = f"they have fewer than {ENOUGH_YEARS} earlier years to look ahead by"
    return enough, [f"{left}: {why}; --years plays them nevertheless"]


def _check_years(wanted: Sequence[int], able: Sequence[int]) -> None:
    """Refuse years of which the weather does not hold the season."""
    outside = [year for year in wanted if year not in able]
    if outside:
        named = ", ".join(map(str, outside[:5])) + (" and more" if len(outside) > 5 else "")  # noqa: PLR2004  a readable few
        what = f"{named}: the weather does not hold the season and a whole year before it"
        right = f"give years from {able[0]} to {able[-1]}, or more weather"
        raise RefusedInput((Problem("--years", what, right),))


def _remarks(fields: Sequence[DeskField]) -> list[str]:
    """What was assumed of the fields, and whether they lie in one place."""
    said = [f"{field.name}: {one}" for field in fields for one in field.remarks]
    first = fields[0].season
    for field in fields[1:]:
        apart = abs(field.season.lat - first.lat)
        if apart > MOST_APART_DEG or abs(field.season.elevation_m - first.elevation_m) > 100.0:  # noqa: PLR2004  as above
            said.append(
                f"{field.name} lies {apart:.1f} degrees of latitude and "
                f"{abs(field.season.elevation_m - first.elevation_m):.0f} m of height from "
                f"{fields[0].name}: the weather is that of one place, and both are played by it"
            )
    return said
