"""The description of one CF grid: a small TOML file, checked whole before anything is opened."""

from __future__ import annotations

import string
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.sources.cf_units import KINDS, conversion, known_units

PARTS = ("year", "month", "day", "file")
Degrees = Annotated[float, Field(ge=-360, le=360)]
Calendar = Literal[
    "standard", "gregorian", "proleptic_gregorian", "noleap", "365_day", "all_leap", "366_day"
]
Shift = Annotated[int, Field(ge=-2, le=2)]


class Part(BaseModel):
    """A part of a preset: nothing unknown in it, nothing changed later."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Variable(Part):
    """Where one of our quantities is found."""

    name: str = Field("*", min_length=1)
    """Of the variable; ``*`` is the only one over time, latitude and longitude."""
    units: str | None = None
    """Where the file names none; one that the file names must be the same."""
    file: str | None = None
    """What stands for ``{file}`` in the names of files."""
    height_m: float | None = Field(None, ge=0.5, le=200)
    """Of the wind. [m]"""
    shift_days: Shift | None = None
    """Instead of the preset's ``label_shift_days``."""
    fill: float | None = None
    """A further number that means missing, as unpacked."""


class Files(Part):
    """Files of one kind, of what comes from them how settled."""

    where: str = Field(min_length=1)
    """Address or path with ``{year}``, ``{month}``, ``{day}``, ``{file}``; a path also ``*``."""
    status: Literal["final", "provisional", "age"] = "age"

    @property
    def remote(self) -> bool:
        """Whether it is an address."""
        return self.where.startswith(("http://", "https://"))

    @property
    def parts(self) -> set[str]:
        """The names in braces."""
        return {name for _, name, _, _ in string.Formatter().parse(self.where) if name is not None}


class Axes(Part):
    """Names and calendar of the three axes."""

    time: str = "*"
    """``*`` looks for it by its attributes, as the others."""
    lat: str = "*"
    lon: str = "*"
    time_units: str | None = None
    """Instead of what the file says, such as ``days since 1980-01-01``."""
    calendar: Calendar | None = None
    """Instead of what the file says."""
    dropped: Literal["29 February", "31 December"] = "29 February"
    """Which day of a leap year a calendar of 365 days leaves out."""


class GridShape(Part):
    """The regular grid, where it is not read from the first file; centres of cells. [deg]"""

    lat0: Annotated[float, Field(ge=-90, le=90)]
    lon0: Degrees
    lat_step: Degrees
    lon_step: Annotated[float, Field(gt=0, le=180)]
    rows: Annotated[int, Field(ge=1, le=100_000)]
    columns: Annotated[int, Field(ge=1, le=100_000)]


class HabitsRow(Part):
    """As :class:`rootbound_service.weather.day.Habits`. [days]"""

    lag: Annotated[int, Field(ge=0, le=1000)]
    recent: Annotated[int, Field(ge=0, le=1000)]
    settled: Annotated[int, Field(ge=0, le=4000)]


class Preset(Part):
    """One source of daily weather in CF files."""

    name: Annotated[str, Field(pattern="^[a-z][a-z0-9_]*$", max_length=40)]
    title: str = Field(min_length=1)
    earliest: date
    label_shift_days: Shift = 0
    """Added to the file's date to give ours."""
    licence: str = ""
    files: tuple[Files, ...] = Field(min_length=1)
    """Tried in turn for each day."""
    axes: Axes = Axes()
    grid: GridShape | None = None
    habits: HabitsRow
    variables: dict[str, Variable] = Field(min_length=1)
    folder: Path = Path()
    """A relative path counts from here: the folder of the preset."""

    @property
    def quantities(self) -> tuple[str, ...]:
        """Our names of what it gives, in our order."""
        return tuple(name for name in QUANTITY_NAMES if name in self.variables)

    def shift(self, quantity: str) -> int:
        """Days to add to the file's date for one quantity. [days]"""
        own = self.variables[quantity].shift_days
        return self.label_shift_days if own is None else own

    def shifted(self, shifts: Mapping[str, int]) -> Preset:
        """Give the preset with other shifts of some quantities. [days]

        Parameters
        ----------
        shifts
            By our name of the quantity.
        """
        variables = {
            name: variable.model_copy(update={"shift_days": shifts.get(name, variable.shift_days)})
            for name, variable in self.variables.items()
        }
        return self.model_copy(update={"variables": variables})

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        wrong = [*_wrong_variables(self), *_wrong_files(self)]
        habits = self.habits
        if not habits.lag <= habits.recent <= habits.settled:
            wrong.append("habits: must not fall; give lag <= recent <= settled")
        if self.grid is not None and self.grid.lat_step == 0:
            wrong.append("grid.lat_step: is 0; give the step from row to row, negative southward")
        if wrong:
            raise ValueError("\n".join(wrong))
        return self


def _wrong_variables(preset: Preset) -> list[str]:
    """Say what is wrong with the variables."""
    wrong: list[str] = []
    in_names = any("file" in entry.parts for entry in _readable(preset))
    for name, variable in preset.variables.items():
        place = f"variables.{name}"
        if name not in KINDS:
            wrong.append(f"{place}: is none of ours; use one of {', '.join(QUANTITY_NAMES)}")
            continue
        if variable.units is not None and conversion(name, variable.units) is None:
            known = ", ".join(known_units(name))
            wrong.append(f"{place}.units: {variable.units!r} is not known; use one of {known}")
        if variable.height_m is not None and name != "wind_m_s":
            wrong.append(f"{place}.height_m: only wind has a height; remove it")
        if in_names and variable.file is None:
            wrong.append(f"{place}.file: is missing; give what stands for {{file}} in the names")
        if variable.name == "*" and not in_names and len(preset.variables) > 1:
            wrong.append(f"{place}.name: is missing; several share a file, so name each")
    return wrong


def _readable(preset: Preset) -> list[Files]:
    """Give the kinds of files whose names can be parsed at all."""
    good: list[Files] = []
    for entry in preset.files:
        if "{{" in entry.where or "}}" in entry.where:
            continue  # a brace in the name itself
        try:
            entry.parts  # noqa: B018 - unbalanced braces raise
        except ValueError:
            continue
        good.append(entry)
    return good


def _wrong_files(preset: Preset) -> list[str]:
    """Say what is wrong with the names of files."""
    wrong: list[str] = []
    readable = _readable(preset)
    for number, entry in enumerate(preset.files):
        place = f"files.{number}.where"
        if entry not in readable:
            wrong.append(f"{place}: its braces do not match; write such as {{year}}")
            continue
        strange = sorted(entry.parts - set(PARTS))
        if strange:
            wrong.append(f"{place}: {{{strange[0]}}} is not known; use year, month, day, file")
        if any(f"{{{name}}}" not in entry.where for name in entry.parts & set(PARTS)):
            wrong.append(f"{place}: a name in braces has a format; write such as {{month}}")
        if entry.parts & {"month", "day"} and "year" not in entry.parts:
            wrong.append(f"{place}: has no {{year}}; a month or day alone names no file")
        if "day" in entry.parts and "month" not in entry.parts:
            wrong.append(f"{place}: has {{day}} without {{month}}; give both")
        if entry.remote and "year" not in entry.parts:
            wrong.append(f"{place}: an address has no {{year}}; give one, or a path")
        if entry.remote and preset.grid is None:
            wrong.append(f"{place}: needs a written grid; give [grid] for files that are fetched")
    return wrong
