"""A night and its morning: computing, rows, letters, texts, what is kept, all as numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_service.desk.capacity.asked import HOUR_S
from rootbound_service.desk.capacity.places import Lying, lying
from rootbound_service.desk.capacity.pulls import Pulls, pulls_of, seconds_of

if TYPE_CHECKING:
    from rootbound_service.desk.capacity.asked import Asked
    from rootbound_service.desk.capacity.measured import Measured

GB = 1e9
QUANTITIES = 6
WEEK = 7.0


@dataclass(frozen=True, slots=True)
class Told:
    """What one night tells."""

    notes: float
    letters: float
    texts: float


@dataclass(frozen=True, slots=True)
class Stored:
    """What is kept, by the end of a season. [GB]"""

    weather: float
    weather_files: float
    """Files of forecasts that a season adds, one an issue and place."""
    risk: float
    other: float
    """Notes with evidence, letters, pictures of seasons."""
    wal_a_night: float
    parts_a_night: float

    @property
    def kept(self) -> float:
        """Weather and database. [GB]"""
        return self.weather + self.risk + self.other

    @property
    def every(self) -> float:
        """The same with one night's parts and logs. [GB]"""
        return self.kept + self.wal_a_night + self.parts_a_night


@dataclass(frozen=True, slots=True)
class Sized:
    """What the model says of a question."""

    asked: Asked
    measured: Measured
    lying: Lying
    pulls: Pulls
    compute_core_s: float
    chunks: int
    rows: float
    rows_s: float
    """Of one writer. [s]"""
    usual: Told
    drought: Told
    letter_core_s: float
    """Of a night of a drought. [s]"""
    stored: Stored
    web_per_s: float
    """In the busiest hour. [requests/s]"""

    @property
    def web_cores(self) -> float:
        """Cores that pages keep busy then."""
        return self.web_per_s * self.measured["web_cpu_ms"] / 1e3

    @property
    def digests(self) -> float:
        """Weekly letters, one for every grower and adviser, all on one day."""
        habits = self.asked.habits
        return self.asked.fields / habits.fields_a_grower + (
            self.asked.fields / habits.fields_an_adviser
        )

    @property
    def letters_a_season(self) -> float:
        """Letters of notes and weekly letters."""
        nights = self.asked.habits.nights
        return self.usual.letters * nights + self.digests * nights / WEEK

    @property
    def pull_s(self) -> float:
        """Time of a usual night's pulls. [s]"""
        return seconds_of(self.pulls.usual)

    @property
    def partitions(self) -> int:
        """Months of a season."""
        return math.ceil(self.asked.habits.nights / 30)

    @property
    def core_hours(self) -> float:
        """Of a usual night, without its letters. [h]"""
        return (self.compute_core_s + self.rows_s) / HOUR_S

    @property
    def core_hours_a_season(self) -> float:
        """Of nights and of all letters, a weekly one counted as one of a field. [h]"""
        letters_s = self.letters_a_season * self.measured["letter_cpu_ms"] / 1e3
        return self.core_hours * self.asked.habits.nights + letters_s / HOUR_S


def sized(asked: Asked, measured: Measured) -> Sized:
    """Work everything out.

    Parameters
    ----------
    asked
        The question.
    measured
        The figures.
    """
    lies = lying(asked.fields, asked.cells)
    chunks = math.ceil(asked.fields / measured["chunk_fields"])
    each_us = measured["kernel_cpu_us"] + measured["packing_cpu_us"]
    compute = asked.fields * each_us / 1e6 + chunks * measured["chunk_overhead_s"]
    compute += lies.every * measured["cell_read_ms"] / 1e3
    rise = measured["rises_a_season"] / asked.habits.nights
    usual = told(asked, rise)
    drought = told(asked, asked.habits.drought_share / asked.habits.drought_nights)
    return Sized(
        asked=asked,
        measured=measured,
        lying=lies,
        pulls=pulls_of(asked, lies, measured),
        compute_core_s=compute,
        chunks=chunks,
        rows=float(asked.fields),
        rows_s=asked.fields * measured["row_write_us"] / 1e6,
        usual=usual,
        drought=drought,
        letter_core_s=drought.letters * measured["letter_cpu_ms"] / 1e3,
        stored=_stored(asked, lies, usual, measured),
        web_per_s=asked.fields / 1e5 * asked.machines.web_per_s,
    )


def told(asked: Asked, rising: float) -> Told:
    """Notes, letters and texts when a share of all fields rises in a night.

    Parameters
    ----------
    asked
        The question.
    rising
        Share of the fields.

    Returns
    -------
    Told
        A person gets one letter for any number of fields: with fields that rise by chance, a
        grower gets one with the chance that at least one of theirs does.
    """
    habits = asked.habits

    def people(fields_each: float) -> float:
        many = asked.fields / fields_each
        if fields_each <= 1:
            return many * rising
        return many * -math.expm1(fields_each * math.log1p(-rising))

    growers = people(min(habits.fields_a_grower, asked.fields))
    advisers = people(min(habits.fields_an_adviser, asked.fields))
    return Told(asked.fields * rising, growers + advisers, growers * habits.texting)


def _stored(asked: Asked, lies: Lying, usual: Told, measured: Measured) -> Stored:
    """What lies on disks by the end of a season."""
    habits = asked.habits
    days = (habits.years + 1) * 365.25
    weather = lies.every * days * QUANTITIES * measured["value_bytes"]
    placed = lies.cells.get("gridmet", 0) if asked.manners.forecasts == "places" else 0
    issues = placed * habits.nights
    weather += issues * measured["forecast_bytes"]
    season = asked.fields * measured["rises_a_season"]
    people = asked.fields / habits.fields_a_grower + asked.fields / habits.fields_an_adviser
    letters = usual.letters * habits.nights + people * habits.nights / WEEK
    other = season * measured["note_bytes"] + letters * measured["letter_bytes"]
    other += asked.fields * measured["picture_bytes"]
    row_wal = (
        measured["risk_row_wal_bytes"] + measured["standing_wal_bytes"] + measured["picture_bytes"]
    )
    return Stored(
        weather=weather / GB,
        weather_files=float(issues),
        risk=asked.fields * habits.nights * measured["risk_row_bytes"] / GB,
        other=other / GB,
        wal_a_night=asked.fields * row_wal / GB,
        parts_a_night=asked.fields * measured["part_field_bytes"] / GB,
    )
