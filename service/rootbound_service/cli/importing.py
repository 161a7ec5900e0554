"""``rootbound import``: many fields from a CSV table or GeoJSON outlines."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import PARTLY, REFUSED
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from rootbound_service.intake.report import ImportReport

MANY_ROWS = 50


def import_fields(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A .csv or .geojson file.")],
    keep_good: Annotated[  # noqa: FBT002  a switch on the command line
        bool, typer.Option("--keep-good", help="Store the good rows although others are refused.")
    ] = False,
) -> None:
    """Enrol many fields, all of them or none.

    A CSV names the keys of the TOML file as columns; GeoJSON carries them as properties.
    Every problem of every row is listed; without --keep-good one is enough to store nothing.
    """
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


def _list_problems(report: ImportReport) -> None:
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
