"""``rootbound import``: many fields, or many observations, from one file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import PARTLY, REFUSED
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from rootbound_service.intake.observations_csv import ObservedReport
    from rootbound_service.intake.report import ImportReport

MANY_ROWS = 50
Observations = Annotated[
    bool,
    typer.Option(
        "--observations",
        help="The file is a CSV of observations: field, date, by, and rain, irrigation, rolled, "
        "harvested, morning, note.",
    ),
]


def import_fields(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A .csv or .geojson file.")],
    keep_good: Annotated[  # noqa: FBT002  a switch on the command line
        bool, typer.Option("--keep-good", help="Store the good rows although others are refused.")
    ] = False,
    observations: Observations = False,  # noqa: FBT002  a switch on the command line
) -> None:
    """Enrol many fields, all of them or none.

    A CSV names the keys of the TOML file as columns; GeoJSON carries them as properties.
    Every problem of every row is listed; without --keep-good one is enough to store nothing.
    With --observations the file holds what was measured, seen and done on enrolled fields.
    """
    if observations:
        _import_observations(ctx, file, keep_good=keep_good)
        return
    from rootbound_service.intake.keep import keep

    checked = _checked(file, ctx)
    with session_of(ctx).service() as service:
        now = session_of(ctx).now()
        report = keep(service.engine, checked, keep_good=keep_good, now=now)
    if report.problems:
        _list_problems(report)
    typer.echo(_summary(report))
    if report.problems:
        raise typer.Exit(PARTLY if report.good else REFUSED)


def _import_observations(ctx: typer.Context, file: Path, *, keep_good: bool) -> None:
    """Record a table of observations."""
    from rootbound_service.intake.observations_keep import keep_table

    with session_of(ctx).service() as service:
        now = session_of(ctx).now()
        report = keep_table(service.engine, file, now, keep_good=keep_good)
    if report.problems:
        _list_problems(report)
    kept = sum(len(row.records) for row in report.good)
    rows = f"{report.rows} row{'' if report.rows == 1 else 's'}"
    if not report.problems:
        typer.echo(f"Recorded {kept} observation{'' if kept == 1 else 's'} of {rows}.")
        return
    if report.good:
        typer.echo(f"Recorded {len(report.good)} of {rows}; the others are refused, see above.")
        raise typer.Exit(PARTLY)
    hint = "; --keep-good stores the rows without problems" if report.rows > 1 else ""
    count = f"{len(report.problems)} problem{'' if len(report.problems) == 1 else 's'}"
    typer.echo(f"{rows}, {count}: nothing was stored{hint}.")
    raise typer.Exit(REFUSED)


def _checked(file: Path, ctx: typer.Context) -> ImportReport:
    """Check every row, with a bar where there are many and somebody looks on."""
    from rootbound_service.intake.many import read_rows
    from rootbound_service.intake.report import report_on

    rows, now = read_rows(file), session_of(ctx).now()
    if len(rows) <= MANY_ROWS or not sys.stderr.isatty():
        return report_on(rows, today=now)
    from rootbound_service.cli.screen import bar

    with bar("Checking rows") as show:
        return report_on(rows, today=now, progress=lambda done: show(done, len(rows)))


def _list_problems(report: ImportReport | ObservedReport) -> None:
    from rootbound_service.cli.screen import print_table

    rows = [(problem.where, problem.what, problem.wanted) for problem in report.problems]
    print_table(("where", "what is wrong", "what would be right"), rows, err=True, whole=("where",))


def _summary(report: ImportReport) -> str:
    rows = f"{report.rows} row{'' if report.rows == 1 else 's'}"
    if not report.problems:
        return f"Enrolled all {rows}."
    if not report.good:
        kept = "nothing was stored"
        hint = "; --keep-good stores the rows without problems" if report.rows > 1 else ""
        count = f"{len(report.problems)} problem{'' if len(report.problems) == 1 else 's'}"
        return f"{rows}, {count}: {kept}{hint}."
    return f"Enrolled {len(report.good)} of {rows}; {report.refused} refused, see above."
