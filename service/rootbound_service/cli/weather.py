"""``rootbound weather``: where the weather stands, bring it now, look at one cell."""

from __future__ import annotations

import sys
from contextlib import nullcontext
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import EPILOG, PARTLY, REFUSED, PlainGroup, complain
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from rootbound_service.nights.weather_state import State

LAST_60 = (
    "Gaps, marks and revisions are of the last 60 days; a source that only stands in\n"
    "for another needs no past years."
)
LEAST_DRAWN_DAYS = 60

weather = typer.Typer(
    cls=PlainGroup,
    help="Where the weather stands, bring it now, look at one cell.",
    epilog=EPILOG,
    no_args_is_help=True,
    rich_markup_mode=None,
)


@weather.command("status", epilog=EPILOG)
def status(ctx: typer.Context) -> None:
    """Say how every source stands.

    Cells, last known day and its age, gaps, values that may still change, marks of the quality
    checks, revisions, past years, forecasts, and when it is asked next.
    """
    from rootbound_service.cli.screen import print_table
    from rootbound_service.desk.weather_lines import HEADS, status_rows
    from rootbound_service.nights.weather_state import look

    session = session_of(ctx)
    today = session.now().date()
    with session.service() as service:
        state = look(service.parts, session.now())
    if not state.sources:
        typer.echo("No field grows now, so no weather is needed. See rootbound enroll --help.")
        return
    print_table(HEADS, status_rows(state.sources, today), whole=("known through",))
    typer.echo("\n".join(_below(state)))


def _below(state: State) -> list[str]:
    """Lines under the table."""
    return [
        "",
        LAST_60,
        *state.forecasts,
        f"Last night: {state.last_night or 'none was run yet'}",
        f"Next pull: {state.next_pull}",
    ]


@weather.command("pull", epilog=EPILOG)
def pull(
    ctx: typer.Context,
    past: Annotated[  # noqa: FBT002 - the library takes a switch so
        bool, typer.Option("--past/--no-past", help="Fetch past years that are missing as well.")
    ] = True,
) -> None:
    """Ask every source now, without computing a night.

    What comes is stored; what fails is named, and the rest goes on.
    """
    from rootbound_service.nights.weather_state import bring

    session = session_of(ctx)
    with session.service(log=True) as service:
        from rootbound_service.cli.screen import bar

        with bar("Asking") if sys.stderr.isatty() else nullcontext() as show:
            brought = bring(service.parts, session.now().date(), past=past, progress=show)
    for line in brought.lines:
        typer.echo(line)
    complain(brought.failures)
    if brought.failures:
        raise typer.Exit(PARTLY if brought.came else REFUSED)


@weather.command("show", epilog=EPILOG)
def show(
    ctx: typer.Context,
    cell: Annotated[
        str, typer.Argument(metavar="CELL", help="A cell's key, or a field's name or number.")
    ],
    days: Annotated[int, typer.Option(min=1, max=400, help="Days in the table.")] = 14,
    plot: Annotated[
        str | None, typer.Option(metavar="FILE.png", help="Draw this year so far to a file.")
    ] = None,
) -> None:
    """Show the days of one cell, each value with where it comes from."""
    from datetime import date, timedelta
    from pathlib import Path

    from rootbound_service.cli.screen import print_table
    from rootbound_service.desk.cell_days import LEGEND, day_heads, day_rows, where_words
    from rootbound_service.nights.weather_state import days_of

    session = session_of(ctx)
    today = session.now().date()
    with session.service() as service:
        found, normals = days_of(service.parts, cell, today)
        if plot:
            from rootbound_service.desk.cell_plot import draw_cell

            first = min(date(today.year, 1, 1), today - timedelta(days=LEAST_DRAWN_DAYS))
            draw_cell(found, normals, first, Path(plot))
    at = found.place.cell
    typer.echo(f"{at.key}: {where_words(*at.centre)}, {found.elevation_m:.0f} m")
    typer.echo(f"{found.words}.")
    print_table(day_heads(), day_rows(found, days), whole=("day",))
    typer.echo(LEGEND)
    if plot:
        typer.echo(f"Drawn to {plot}.")
