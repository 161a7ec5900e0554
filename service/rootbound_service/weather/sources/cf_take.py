"""Fills one answer from file after file: the first kind of file that has a day gives it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_service.public.replies import odd
from rootbound_service.weather.day import Habits, Status, settled_by_age
from rootbound_service.weather.sources.cf_days import days_of
from rootbound_service.weather.sources.cf_files import periods
from rootbound_service.weather.sources.cf_names import with_names
from rootbound_service.weather.sources.cf_open import open_dataset
from rootbound_service.weather.sources.cf_values import read_values, spots_of
from rootbound_service.weather.sources.cf_variable import find_variable

if TYPE_CHECKING:
    import xarray as xr

    from rootbound_service.weather.day import Ask, Cube
    from rootbound_service.weather.sources.cf_files import Found
    from rootbound_service.weather.sources.cf_preset import Files, Preset

ISSUED_IN = ("date_modified", "date_issued", "date_created")
"""Attributes of a file that say when it was made, the better one first."""


@dataclass(slots=True, eq=False)
class Taking:
    """An answer as it fills."""

    preset: Preset
    ask: Ask
    steps: tuple[float, float]
    """Of the grid, row to row and column to column. [deg]"""
    values: Cube = field(init=False)
    status: NDArray[np.uint8] = field(init=False)
    issued: datetime | None = None
    origins: list[str] = field(default_factory=list[str])
    _kind: NDArray[np.int16] = field(init=False)
    """Number of the kind of file that gave a quantity's day, -1 none yet."""
    _number: int = -1
    _of_kind: NDArray[np.uint8] = field(init=False)
    _lat: NDArray[np.float64] = field(init=False)
    _lon: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        """Begin with nothing known."""
        names = self.preset.quantities
        shape = (len(names), self.ask.days)
        self.values = np.full((len(names), len(self.ask.cells), self.ask.days), np.nan)
        self.status = np.full(shape, Status.UNKNOWN, dtype=np.uint8)
        self._kind = np.full(shape, -1, dtype=np.int16)
        self._of_kind = self.status[0]
        self._lat = np.array([cell.lat for cell in self.ask.cells])
        self._lon = np.array([cell.lon for cell in self.ask.cells])

    def next_kind(self, entry: Files) -> None:
        """Go on to the next kind of files; days that are filled stay.

        Parameters
        ----------
        entry
            The kind.
        """
        self._number += 1
        row = self.preset.habits
        habits = Habits(row.lag, row.recent, row.settled)
        by_age = settled_by_age(self.ask, habits, ("one",))[0]
        fixed = {"final": Status.FINAL, "provisional": Status.PROVISIONAL}
        known = fixed.get(entry.status)
        self._of_kind = by_age if known is None else np.full_like(by_age, known)

    def missing(self, quantity: str, parts: set[str]) -> Iterator[date]:
        """Give the first day of each file with a day that none gave yet, by the files' dates.

        Parameters
        ----------
        quantity
            Our name.
        parts
            The names in the braces of the files' pattern.
        """
        row = self.preset.quantities.index(quantity)
        shift = timedelta(days=self.preset.shift(quantity))
        for start, end in periods(parts, self.ask.start - shift, self.ask.end - shift):
            first = (start + shift - self.ask.start).days
            last = (end + shift - self.ask.start).days
            if (self._kind[row, first : last + 1] < 0).any():
                yield start

    def take(self, found: Found, quantities: list[str]) -> None:
        """Read what a file has of the days that no earlier kind gave.

        Parameters
        ----------
        found
            The file.
        quantities
            Our names of what it serves.

        Raises
        ------
        Unavailable
            If it is not as the preset describes it.
        """
        who = f"{self.preset.title}, {found.name}"
        with open_dataset(found.path, who) as dataset:
            axes = with_names(dataset, self.preset.axes, who)
            days = days_of(dataset, axes, who)
            wanted = {quantity: self._days(quantity, days, who) for quantity in quantities}
            if not any(len(steps) for steps, _ in wanted.values()):
                return
            spots = spots_of(dataset, axes, self._lat, self._lon, self.steps, who)
            for quantity, (steps, at) in wanted.items():
                variable = self.preset.variables[quantity]
                values, convert = find_variable(dataset, quantity, variable, axes, who)
                row = self.preset.quantities.index(quantity)
                read = read_values(values, spots, steps, variable.fill, who)
                self.values[row][:, at] = convert(read)
                self.status[row, at] = self._of_kind[at]
                self._kind[row, at] = self._number
            self._note(found, dataset)

    def _days(
        self, quantity: str, days: NDArray[np.int64], who: str
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Steps of a file that are wanted, and the place of each among the days asked for."""
        row = self.preset.quantities.index(quantity)
        at = days + self.preset.shift(quantity) - self.ask.start.toordinal()
        steps = np.flatnonzero((days >= 0) & (at >= 0) & (at < self.ask.days))
        given = self._kind[row, at[steps]]
        if (given == self._number).any():
            day = self.ask.day(int(at[steps][given == self._number][0]))
            odd(who, f"has {quantity} of {day}, which another file of its kind has as well")
        steps = steps[given < 0]
        return steps, at[steps]

    def _note(self, found: Found, dataset: xr.Dataset) -> None:
        """Keep when the newest file was made, and what files there were."""
        made = found.issued or _made(dataset)
        if made is not None and (self.issued is None or made > self.issued):
            self.issued = made
        version = dataset.attrs.get("product_version")
        self.origins.append(f"{found.name}, {version}" if version else found.name)


def _made(dataset: xr.Dataset) -> datetime | None:
    """When a file says that it was made; a time without a zone is taken for UTC."""
    for name in ISSUED_IN:
        text = dataset.attrs.get(name)
        if isinstance(text, str):
            try:
                moment = datetime.fromisoformat(text.strip())
            except ValueError:
                continue
            return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return None
