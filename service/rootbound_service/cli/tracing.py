"""``rootbound trace``: one field at a desk, from two files, without service or database."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from rootbound_rules.season.trace_day import TraceDay
    from rootbound_rules.season.values import DailyWeather


def trace(
    field: Annotated[Path, typer.Argument(metavar="FIELD.toml", help="The field and its season.")],
    weather: Annotated[
        Path, typer.Option(metavar="W.csv", help="Daily weather, from before planting if known.")
    ],
    out: Annotated[
        Path | None, typer.Option(metavar="T.csv", help="Write every day to this table.")
    ] = None,
    plot: Annotated[
        Path | None, typer.Option(metavar="P.png", help="Draw the season to this picture.")
    ] = None,
) -> None:
    """Compute one field twice, day by day: with free roots and with its roots as dug.

    Weather columns: date, tmax_c, tmin_c, rain_mm and any of solar_mj, dewpoint_c, rhmax_pct,
    rhmin_pct, wind_m_s, et0_mm, irrigation_mm. A given et0_mm is used as it is.
    """
    from rootbound_rules.errors import RulesError
    from rootbound_rules.season.trace import trace_season
    from rootbound_service.desk.season_file import read_season, stress_begins
    from rootbound_service.desk.weather_file import read_weather
    from rootbound_service.errors import Problem, RefusedInput

    _check_plot(plot)
    desk = read_season(field)
    days, remarks = read_weather(weather)
    _check_cover(weather, days, desk.season.planted)
    try:
        traced = trace_season(desk.season, days)
    except RulesError as error:
        wanted = "give real values, at least in the growing season"
        raise RefusedInput((Problem(weather.name, str(error), wanted),)) from None
    for remark in (*desk.remarks, *remarks):
        typer.echo(f"note: {remark}", err=True)
    if out is not None:
        from rootbound_service.desk.table import write_table

        _write(out, lambda: write_table(traced, out))
    if plot is not None:
        from rootbound_service.desk.plot import draw_trace

        _write(plot, lambda: draw_trace(traced, desk.name, plot, desk.season.crop))
    typer.echo(_summary(desk.name, traced, stress_begins(desk.season.crop)))


def _check_plot(plot: Path | None) -> None:
    """Refuse a picture that would not be what its name says."""
    from rootbound_service.errors import Problem, RefusedInput

    if plot is not None and plot.suffix.lower() != ".png":
        raise RefusedInput((Problem(plot.name, "is no PNG", "end the name in .png"),))


def _check_cover(weather: Path, days: DailyWeather, planted: date) -> None:
    """Refuse weather that does not have the planting day."""
    from rootbound_service.errors import Problem, RefusedInput

    if not days.start <= planted <= days.end:
        what = f"covers {days.start} to {days.end}, the field was planted on {planted}"
        wanted = "let the weather begin on planting day or up to 90 days before"
        raise RefusedInput((Problem(weather.name, what, wanted),))


def _write(path: Path, write: Callable[[], None]) -> None:
    """Write a file; where that cannot be done, say so in a sentence."""
    from rootbound_service.errors import Problem, RefusedInput

    try:
        write()
    except OSError as error:
        what = f"cannot be written: {error.strerror or error}"
        raise RefusedInput((Problem(str(path), what, "name a place you may write to"),)) from None


def _summary(name: str, days: list[TraceDay], since: str) -> str:
    """How the season went, in a few lines."""
    last = days[-1]
    sums = f"free {last.free.stress_days:.1f}, held {last.held.stress_days:.1f}"
    lines = [
        f"{name}: {days[0].date} to {last.date}, {last.gdd_f_total:.0f} heat units, {last.stage}",
        f"  stress-day equivalents since {since}: {sums}",
        f"  first short of water: free {_onset(days, held=False)}, held {_onset(days, held=True)}",
        f"  reach of the held roots at the end: {last.held.reach:.2f}",
    ]
    return "\n".join(lines)


def _onset(days: list[TraceDay], *, held: bool) -> str:
    """Day on which the sum of stress passes the onset mark."""
    from rootbound_rules.tables import load_table

    mark = load_table("ladder").number("onset_days")
    for day in days:
        if (day.held if held else day.free).stress_days > mark:
            return day.date.isoformat()
    return "never"
