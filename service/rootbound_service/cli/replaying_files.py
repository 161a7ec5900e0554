"""A replay from files: what is asked of which fields and weather, and the seasons played."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_rules.season.values import DailyWeather
    from rootbound_service.desk.season_file import DeskField
    from rootbound_service.records import Units
    from rootbound_service.replay.asking import Task
    from rootbound_service.replay.forecast_file import Issues
    from rootbound_service.replay.harvests import Harvests
    from rootbound_service.replay.report.facts import About
    from rootbound_service.replay.values import Played


@dataclass(frozen=True, slots=True)
class Files:
    """What was given."""

    fields: tuple[Path, ...]
    weather: Path
    years: tuple[int, ...] | None
    classes: tuple[int, ...] | None
    yields: Path | None
    forecasts: Path | None
    late: int = 0
    """Measured weather reaches a night so many days late. [d]"""


@dataclass(frozen=True, slots=True)
class Read:
    """What the files hold, all of it checked."""

    days: DailyWeather
    task: Task
    harvests: Harvests | None
    issues: Issues | None
    classes: bool
    late: int

    def about(self, units: Units, *, baselines: bool) -> About:
        """Tell the report what was played.

        Parameters
        ----------
        units
            Of water.
        baselines
            Whether to compare with plain ways.
        """
        from rootbound_service.replay.report.facts import About

        return About(
            weather=self.days,
            place=self.task.asked[0].season,
            remarks=self.task.remarks,
            harvests=self.harvests,
            baselines=baselines,
            units=units,
            classes=self.classes,
            forecast=self.issues is not None,
            late=self.late,
        )


def read_files(files: Files) -> Read:
    """Read everything before anything is played.

    Parameters
    ----------
    files
        As given.

    Raises
    ------
    RefusedInput
        With what is wrong, and in which file.
    """
    days, task = _task(files)
    harvests = None if files.yields is None else _yields(files.yields, task)
    issues = None if files.forecasts is None else _issues(files.forecasts)
    return Read(days, task, harvests, issues, files.classes is not None, files.late)


def play_files(read: Read, workers: int) -> tuple[Played, ...]:
    """Play the seasons, a bar beside them on a terminal.

    Parameters
    ----------
    read
        What to play.
    workers
        Processes beside each other.
    """
    from rootbound_rules.errors import RulesError
    from rootbound_service.cli.replaying_out import bar
    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.replay.runs import play_all

    with bar(len(read.task.asked), "Seasons") as tick:
        found: list[Played] = []
        try:
            for one in play_all(read.task.asked, read.days, workers, read.issues, read.late):
                found.append(one)
                tick()
        except RulesError as error:
            wanted = "give real values, at least in the growing season"
            raise RefusedInput((Problem("weather", str(error), wanted),)) from None
    return tuple(found)


def _task(files: Files) -> tuple[DailyWeather, Task]:
    """Read the fields and their weather, and choose the seasons."""
    from dataclasses import replace

    from rootbound_service.desk.season_file import read_season
    from rootbound_service.desk.weather_file import read_weather
    from rootbound_service.replay.asking import ask

    with _of_file(files.weather):
        days, remarks = read_weather(files.weather)
    found: list[DeskField] = []
    for field in files.fields:
        with _of_file(field):
            found.append(read_season(field))
    task = ask(found, days, files.years, files.classes)
    said = (f"{files.weather.name}: {one}" for one in remarks)
    return days, replace(task, remarks=(*task.remarks, *said))


def _yields(path: Path, task: Task) -> Harvests:
    """Read the yields; those of too few of the seasons are refused before anything is played."""
    from rootbound_service.replay.harvests import harvests_of
    from rootbound_service.replay.yields import read_yields

    crop = task.asked[0].season.crop
    years = {one.season.planted.year for one in task.asked}
    return harvests_of(read_yields(path, crop), years, path.name)


def _issues(path: Path) -> Issues:
    """Read the forecasts."""
    from rootbound_service.replay.forecast_file import read_forecasts

    with _of_file(path):
        return read_forecasts(path)


@contextmanager
def _of_file(path: Path) -> Generator[None]:
    """Name the file in what is refused: a command that reads several leaves nobody guessing."""
    from rootbound_service.errors import Problem, RefusedInput

    try:
        yield
    except RefusedInput as refused:
        raise RefusedInput(
            tuple(
                one
                if one.where.startswith(path.name)
                else Problem(f"{path.name}, {one.where}", one.what, one.wanted)
                for one in refused.problems
            )
        ) from None
