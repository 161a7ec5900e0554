"""What runs the service: one night, the outbox, the weekly letter, or all of it by the clock."""

from __future__ import annotations

import re
import sys
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import PARTLY, REFUSED, complain
from rootbound_service.cli.said import tell
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    import datetime as dt

Night = Annotated[
    str | None,
    typer.Option("--date", metavar="YYYY-MM-DD", help="The night to compute; today if not given."),
]
Week = Annotated[
    str | None,
    typer.Option(metavar="YYYY-Www", help="The week, as 2026-W29; this one if not given."),
]


def nightly(ctx: typer.Context, date: Night = None) -> None:
    """Compute one night for every field.

    Notes that are due go to the outbox. Running a night again changes nothing that was right.
    One field that fails stops no other.
    """
    session = session_of(ctx)
    night = _night(date, session.now().date())
    with session.service(log=True) as service:
        from rootbound_service.cli.screen import bar

        with bar("Computing") if sys.stderr.isatty() else nullcontext() as show:
            report = service.nightly(night, show)
    typer.echo(
        f"Night of {night}: {report.fields_ok} fields computed, {report.fields_failed} failed, "
        f"{report.notes} notes decided, {report.messages} messages in the outbox."
    )
    for sentence in report.told:
        typer.echo(f"  {sentence}")
    complain(report.failures)
    if report.fields_failed:
        raise typer.Exit(PARTLY if report.fields_ok else REFUSED)


def _night(given: str | None, today: dt.date) -> dt.date:
    if given is None:
        return today
    from pydantic_core import PydanticCustomError

    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.intake.cells import read_day

    try:
        night = read_day(given)
    except PydanticCustomError as error:
        what, wanted = error.message().split("; ", 1)
        raise RefusedInput((Problem("--date", what, wanted),)) from None
    if night > today:
        what = f"{night} is in the future (today is {today})"
        raise RefusedInput((Problem("--date", what, "give a night that has come"),))
    return night


def send(ctx: typer.Context) -> None:
    """Send what waits in the outbox.

    What cannot go now is tried again later.
    """
    with session_of(ctx).service(log=True) as service:
        report = service.send()
    not_sent = report.retried + report.dead + report.unknown
    told = f"{report.sent + report.lost} messages sent, {report.retried} put off, "
    told += f"{report.dead} given up, {report.unknown} cut off in the middle"
    aside = (
        (report.waiting, "left for the morning or the next try"),
        (report.suppressed, "stopped"),
    )
    told += "".join(f", {many} {word}" for many, word in aside if many)
    tell(f"{told}.")
    for channel, said in report.stopped.items():
        complain((f"{channel} is left alone for a while: the other side says {said}",))
    if not_sent or report.stopped:
        raise typer.Exit(PARTLY if report.sent + report.lost else REFUSED)


def digest(
    ctx: typer.Context,
    week: Week = None,
    list_: Annotated[bool, typer.Option("--list", help="List those kept; write none.")] = False,  # noqa: FBT002  typer's
    show: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Save one that is kept as .html or .pdf; write none."),
    ] = None,
    person: Annotated[
        str | None,
        typer.Option(metavar="PERSON", help="Whose to list or show: a name, address or #number."),
    ] = None,
) -> None:
    """Put the weekly letters in the outbox, or look at those that were written.

    A letter already written is not written again.
    """
    _check_week(week)
    if list_ or show:
        _archive(ctx, week, person, show)
        return
    if person is not None:
        raise _no_person(person)
    with session_of(ctx).service(log=True) as service:
        count = service.digest(week)
    typer.echo(f"{count} weekly letter{'' if count == 1 else 's'} in the outbox.")


def _archive(ctx: typer.Context, week: str | None, person: str | None, show: Path | None) -> None:
    from rootbound_service.cli.digest_archive import HEADS, digest_rows, save_digest
    from rootbound_service.cli.screen import print_table

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        if show is not None:
            typer.echo(save_digest(conn, show, person, week))
            return
        rows = digest_rows(conn, person, week)
    if rows:
        print_table(HEADS, rows, whole=HEADS[:3])
    else:
        typer.echo("No digest is kept yet.")


def _no_person(person: str) -> Exception:
    from rootbound_service.errors import Problem, RefusedInput

    wanted = "leave it out: everybody whose digest is due gets one; or add --list or --show FILE"
    return RefusedInput((Problem("--person", f"one letter alone for {person}", wanted),))


def _check_week(week: str | None) -> None:
    if week is None:
        return
    import datetime as dt

    from rootbound_service.errors import Problem, RefusedInput

    match = re.fullmatch(r"(\d{4})-W(\d{2})", week, re.ASCII)
    year, number = (int(match[1]), int(match[2])) if match else (0, 0)
    try:
        dt.date.fromisocalendar(year, number, 1)
    except ValueError:
        problem = Problem("--week", f'"{week}" is not a week', "write year and week as 2026-W29")
        raise RefusedInput((problem,)) from None


def worker(ctx: typer.Context) -> None:
    """Do all of it by the clock, until stopped.

    Nights, sending and weekly letters, each at its time.
    """
    try:
        with session_of(ctx).service(log=True) as service:
            service.run_worker()
    except KeyboardInterrupt:
        tell("Stopped.")
