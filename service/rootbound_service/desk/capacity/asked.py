"""What a service is asked to bear, and with what: the arguments of the model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rootbound_service.errors import Problem, RefusedInput

MOST_FIELDS = 200_000_000
LEAST, MOST = 0.001, 1e6
"""Of rates and sizes of machines."""
HOUR_S = 3600.0

ForecastWay = Literal["places", "files"]
DaysWay = Literal["requests", "files"]


@dataclass(frozen=True, slots=True)
class Machines:
    """What the operator has."""

    hosts: int = 1
    cores: int = 8
    """Of each host."""
    memory_gb: float = 32.0
    """Of each host. [GB]"""
    disk_gb: float = 500.0
    """For database, weather and logs together. [GB]"""
    writers: int = 1
    """Connections that write risk rows at the same time."""
    letter_cores: int = 1
    """Cores that write letters."""
    senders: int = 2
    mail_per_s: float = 14.0
    """What the mail provider takes: set by the operator. [messages/s]"""
    texts_per_s: float = 1.0
    """What the text provider takes, all numbers together: set by the operator. [texts/s]"""
    web_per_s: float = 5.0
    """Pages asked for in the busiest hour by 100,000 fields' people. [requests/s]"""


@dataclass(frozen=True, slots=True)
class Manners:
    """How hard public services are asked; from the service's own settings."""

    pause_s: float
    """Between the starts of two requests to one host. [s]"""
    forecasts: ForecastWay = "places"
    """One request a place, as the service does; or one file for all."""
    days: DaysWay = "requests"
    """Past days by requests, as the service does; or in yearly files."""
    pieces: bool = False
    """Days that reach far back are asked for in pieces short enough for boxes of cells."""


@dataclass(frozen=True, slots=True)
class Habits:
    """What is usual of people and seasons: choices, to be replaced by an operator's own."""

    night_s: float = 4 * HOUR_S
    """From the start of a night to the first reader's eight o'clock. [s]"""
    telling_s: float = 2 * HOUR_S
    """From then until the last note must be out. [s]"""
    years: int = 30
    """Past years of weather."""
    nights: int = 150
    """Of a season."""
    fields_a_grower: float = 20.0
    fields_an_adviser: float = 400.0
    texting: float = 0.3
    """Growers who also want a text."""
    drought_share: float = 0.10
    """Fields that rise in a bad spell."""
    drought_nights: int = 3
    enrol_days: float = 60.0
    """From the first enrolments of a new service to the season's first note. [days]"""


@dataclass(frozen=True, slots=True)
class Asked:
    """One question to the model."""

    fields: int
    manners: Manners
    cells: int | None = None
    """Cells of the finest source; None: as maize lies."""
    machines: Machines = Machines()
    habits: Habits = Habits()

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        problems: list[Problem] = []
        if not 1 <= self.fields <= MOST_FIELDS:
            wanted = f"give 1 to {MOST_FIELDS:,}"
            problems.append(Problem("fields", f"{self.fields:,} cannot be", wanted))
        if self.cells is not None and not 1 <= self.cells <= self.fields:
            wanted = "give at least 1 and no more cells than fields"
            problems.append(Problem("cells", f"{self.cells:,} cannot be", wanted))
        counted = ("hosts", "cores", "writers", "letter_cores", "senders")
        amounts = ("memory_gb", "disk_gb", "mail_per_s", "texts_per_s")
        least = {**dict.fromkeys(counted, 1.0), **dict.fromkeys(amounts, LEAST)}
        given = {name: float(getattr(self.machines, name)) for name in least}
        problems += [
            Problem(name, f"{value:g} cannot be", f"give {least[name]:g} to {MOST:g}")
            for name, value in given.items()
            if not least[name] <= value <= MOST  # so written, NaN is refused too
        ]
        if problems:
            raise RefusedInput(tuple(problems))
