"""``rootbound replay``: past seasons played again night by night, held against what came."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeAlias

import typer

from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rootbound_service.records import Units

MOST_WORKERS = 64
Fields: TypeAlias = Annotated[
    list[str] | None,
    typer.Argument(metavar="FIELD.toml...", help="Fields of one place; stored ones by name."),
]
Weather: TypeAlias = Annotated[
    Path | None, typer.Option(metavar="W.csv", help="Daily weather of many years, as for trace.")
]
Years: TypeAlias = Annotated[
    str | None, typer.Option(metavar="YEARS", help="As 1987-2004 or 1988,2012; all if not given.")
]
Classes: TypeAlias = Annotated[
    str | None, typer.Option(metavar="CLASSES", help="Wall classes to find instead, as 0,2,3.")
]
Harvest: TypeAlias = Annotated[
    Path | None, typer.Option(metavar="Y.csv", help="Yields by year, to compare with.")
]
Forecasts: TypeAlias = Annotated[
    Path | None, typer.Option(metavar="F.csv", help="Forecasts as they were issued.")
]
Late: TypeAlias = Annotated[
    int,
    typer.Option(min=0, max=10, metavar="DAYS", help="How late measured weather reaches a night."),
]
Workers: TypeAlias = Annotated[
    int, typer.Option(min=1, max=MOST_WORKERS, help="Processes beside each other.")
]
Out: TypeAlias = Annotated[
    Path, typer.Option(metavar="DIR", help="Folder for the tables and the report.")
]
Baselines: TypeAlias = Annotated[
    bool, typer.Option("--baselines/--no-baselines", help="Compare with rain and the like.")
]
Stored: TypeAlias = Annotated[
    bool, typer.Option("--stored", help="Seasons of the service's own store instead of files.")
]
UnitSystem: TypeAlias = Annotated[
    str, typer.Option(metavar="UNITS", help="Of water in the report: us or metric.")
]


def replay(  # noqa: PLR0913, PLR0917  a command's options are its arguments
    ctx: typer.Context,
    fields: Fields = None,
    weather: Weather = None,
    years: Years = None,
    classes: Classes = None,
    yields: Harvest = None,
    forecasts: Forecasts = None,
    late: Late = 0,
    workers: Workers = 1,
    out: Out = Path("replay"),
    baselines: Baselines = True,  # noqa: FBT002  the library takes a switch so
    stored: Stored = False,  # noqa: FBT002  the same
    units: UnitSystem = "metric",
) -> None:
    """Play past seasons again, night by night, with only what was known each night.

    Writes nights.csv, seasons.csv and report.html: when it would have warned, and what came.
    A field's own digs are found on the same days of every year, or --classes instead.
    Forecast columns: issued, date, tmax_c, tmin_c, rain_mm and any of solar_mj, dewpoint_c,
    wind_m_s, member. Yield columns: year and one of yield_bu_ac, yield_t_ha.

    With --stored the service's own fields, all or those named, are played by its own nights
    with the forecasts that were kept; no source is asked and nothing is stored.
    """
    from rootbound_service.cli.replaying_out import make_folder, write
    from rootbound_service.replay.asking import read_classes, read_years

    shown, spans = _units(units), None if years is None else read_years(years)
    if stored:
        from rootbound_service.cli.replaying_stored import play_store

        given = {"--weather": weather, "--classes": classes, "--yields": yields}
        _refuse({**given, "--forecasts": forecasts})
        make_folder(out)
        with session_of(ctx).service() as service:
            today = session_of(ctx).now().date()
            played, about = play_store(service.parts, fields or [], spans, today, shown)
    else:
        from rootbound_service.cli.replaying_files import Files, play_files, read_files

        found = None if classes is None else read_classes(classes)
        paths, days = _needed(fields, weather)
        read = read_files(Files(paths, days, spans, found, yields, forecasts, late))
        make_folder(out)
        _say(read.task.remarks)
        played, about = play_files(read, workers), read.about(shown, baselines=baselines)
    typer.echo("\n".join(write(out, played, about)))


def _units(units: str) -> Units:
    """Read the units; refuse those that nobody measures in."""
    from rootbound_service.errors import Problem, RefusedInput

    if units == "us":
        return "us"
    if units == "metric":
        return "metric"
    raise RefusedInput((Problem("--units", f'"{units}" is neither', "give us or metric"),))


def _needed(fields: Sequence[str] | None, weather: Path | None) -> tuple[tuple[Path, ...], Path]:
    """Refuse a replay from files without a field or without weather."""
    from rootbound_service.errors import Problem, RefusedInput

    if not fields or weather is None:
        what = "no field" if not fields else "no --weather"
        wanted = "give FIELD.toml and --weather W.csv, or --stored for the service's own seasons"
        raise RefusedInput((Problem("replay", f"{what} is given", wanted),))
    return tuple(map(Path, fields)), weather


def _refuse(given: Mapping[str, object]) -> None:
    """Refuse what a replay of the store takes from the store."""
    from rootbound_service.errors import Problem, RefusedInput

    wanted = "leave it out: weather, digs and forecasts are those of the store"
    problems = tuple(
        Problem(name, "does not go with --stored", wanted)
        for name, value in given.items()
        if value is not None
    )
    if problems:
        raise RefusedInput(problems)


def _say(remarks: Sequence[str]) -> None:
    """Say what was assumed, beside the output."""
    for remark in remarks:
        typer.echo(f"note: {remark}", err=True)
