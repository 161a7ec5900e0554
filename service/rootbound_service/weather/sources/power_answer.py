"""Reads an answer of NASA POWER; whatever is not as documented is refused by name."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from rootbound_service.errors import RefusedInput
from rootbound_service.public.http import Reply
from rootbound_service.public.replies import Json, is_number, odd, part
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import Ask, Block, Habits, Status, settled_by_age
from rootbound_service.weather.sources.power_header import (
    IMPOSSIBLE,
    Told,
    elevation_of,
    number,
    place_of,
    read_header,
)
from rootbound_service.weather.sources.power_names import (
    FACTORS,
    GRID,
    OURS,
    PARAMETERS,
    is_near_real_time,
)

FILL_TOLERANCE = 0.01


def read_point(reply: Reply, ask: Ask, habits: Habits, who: str) -> Block:
    """Read the answer about the one cell of an ask.

    Parameters
    ----------
    reply
        What came back.
    ask
        What was asked for.
    habits
        Of the service, for the status of its values.
    who
        The service and the cell, for the error's sentence.

    Returns
    -------
    Block
        Every quantity in our names and units.

    Raises
    ------
    Unavailable
        If the answer is no data, is not whole, or is not what was asked for.
    """
    told = read_header(reply, who)
    _same_cell(told.document, ask.cells[0], who)
    table = part(part(told.document, "properties", who), "parameter", who)
    days = days_of(ask)
    rows = [values_of(told, table, theirs, days, who) for theirs in PARAMETERS]
    return Block(
        source=GRID.source,
        cells=ask.cells,
        start=ask.start,
        quantities=OURS,
        values=np.stack(rows)[:, np.newaxis, :],
        status=status_of(ask, habits, told.origins),
        elevation_m=np.array([elevation_of(told.document)]),
        origins=told.origins,
        raw=reply.content,
        fingerprint=told.fingerprint,
    )


def values_of(
    told: Told, table: Json, theirs: str, days: list[str], who: str
) -> NDArray[np.float64]:
    """Read one parameter in the order of the days asked for, in our unit, NaN where unknown.

    Parameters
    ----------
    told
        The answer.
    table
        Its part that holds the parameter by name.
    theirs
        The service's name of the parameter.
    days
        As the service writes them.
    who
        As for :func:`read_point`.

    Raises
    ------
    Unavailable
        If the days are others, or a value is no number, or the unit is unknown.
    """
    series = part(table, theirs, who)
    if series.keys() != set(days):
        missing = sorted(set(days) - series.keys())
        extra = sorted(series.keys() - set(days))
        wrong = f"{missing[0]} is missing" if missing else f"{extra[0]} was not asked for"
        odd(who, f"{theirs} has other days than asked for: {wrong}")
    for day in days:
        if not is_number(series[day]):
            odd(who, f"{theirs} of {day} is {series[day]!r}, which is no number")
    values = np.array([number(series[day]) for day in days])
    values[np.abs(values - told.fill) < FILL_TOLERANCE] = np.nan
    if (np.abs(values) > IMPOSSIBLE).any():
        odd(who, f"{theirs} holds a number that no weather has")
    return values * _factor(part(told.facts, theirs, who), theirs, who)


def status_of(ask: Ask, habits: Habits, origins: tuple[str, ...]) -> NDArray[np.uint8]:
    """Status by quantity and day: final by age, and only if no near-real-time set is named.

    Parameters
    ----------
    ask, habits
        As for :func:`read_point`.
    origins
        The data sets behind the whole answer; the service does not say which day is whose.
    """
    status = settled_by_age(ask, habits, OURS)
    if any(map(is_near_real_time, origins)):
        status[:] = Status.PROVISIONAL
    return status


def days_of(ask: Ask) -> list[str]:
    """List the days asked for as the service writes them.

    Parameters
    ----------
    ask
        What is asked for.
    """
    return [f"{ask.start + timedelta(days=i):%Y%m%d}" for i in range(ask.days)]


def _same_cell(document: Json, cell: Cell, who: str) -> None:
    """Refuse an answer that says it is about another cell; one that does not say is taken."""
    found = place_of(document)[:2]
    if len(found) < 2:  # noqa: PLR2004 - longitude and latitude
        return
    try:
        about = GRID.snap(found[1], found[0])
    except RefusedInput:
        about = None
    if about != cell:
        odd(who, "the answer is about another place")


def _factor(facts: Json, theirs: str, who: str) -> float:
    """Find the factor from the unit that the answer names to ours."""
    known = FACTORS[PARAMETERS[theirs]]
    units = facts.get("units")
    factor = known.get(units.strip()) if isinstance(units, str) else None
    if factor is None:
        names = " or ".join(known)
        odd(who, f"{theirs} comes in {units!r}, a unit we do not know; known: {names}")
    return factor
