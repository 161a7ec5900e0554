"""``rootbound db``: the whole database moved to the other kind, and two held side by side."""

from __future__ import annotations

import sys
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootbound_service.cli.errors import EPILOG, REFUSED, PlainGroup, complain
from rootbound_service.cli.moving_opened import must_be_two, opened, url_wanted
from rootbound_service.cli.session import session_of

if TYPE_CHECKING:
    from collections.abc import Generator, Sequence
    from datetime import datetime

    from rich.progress import TaskID
    from sqlalchemy import Engine

    from rootbound_service.store.moving import Compared, Told

To = Annotated[
    str | None,
    typer.Option(metavar="URL", help="The new one: sqlite:///FILE or postgresql://USER@HOST/NAME."),
]
ToFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="A file that holds its URL, so that no password is seen."),
]
Force = Annotated[
    bool, typer.Option("--force", help="Move though a run or a message seems to be in hand.")
]

db = typer.Typer(
    cls=PlainGroup,
    help="The database as a whole: moved to the other kind, and compared.",
    no_args_is_help=True,
    epilog=EPILOG,
)


@db.command("move", epilog=EPILOG)
def move(ctx: typer.Context, to: To = None, to_file: ToFile = None, force: Force = False) -> None:  # noqa: FBT002  typer's
    """Copy the database into an empty one, SQLite to PostgreSQL or back, and verify it.

    Stop the service first. The old database is not changed; whatever stops the move leaves the
    new one empty, and it can be begun again. The weather stays in its folder.
    """
    from rootbound_service.logs import log_to_stderr
    from rootbound_service.store.moving import move as move_all
    from rootbound_service.worker.schedule import one_worker

    session = session_of(ctx)
    settings = session.settings()
    log_to_stderr(whole=False, form=settings.log_format)
    settings.data_dir.mkdir(parents=True, exist_ok=True)
    with ExitStack() as stack:
        stack.enter_context(one_worker(settings.data_dir))
        old = stack.enter_context(opened(settings.database_url, "ROOTBOUND_DATABASE_URL"))
        new = stack.enter_context(opened(url_wanted(to, to_file), "--to", may_be_made=True))
        must_be_two(old, new)
        if not force:
            _must_stand_still(old, session.now())
        told = stack.enter_context(_bars())
        try:
            compared = move_all(old, new, told)
        except KeyboardInterrupt:
            complain(("stopped; the new database is as empty as before: begin again",))
            raise typer.Exit(REFUSED) from None
    _print(compared)
    rows = sum(one.old.rows for one in compared)
    typer.echo(f"Moved {rows} rows of {len(compared)} tables; both sides hold the same.")
    typer.echo("Now name the new database in ROOTBOUND_DATABASE_URL and start the service there.")
    typer.echo("Never start it on the old one again: what waits there would be sent twice.")


@db.command("check", epilog=EPILOG)
def check(ctx: typer.Context, to: To = None, to_file: ToFile = None) -> None:
    """Hold the database against another, table by table; changes neither.

    After a move and before the service starts, both hold the same.
    """
    from rootbound_service.logs import log_to_stderr
    from rootbound_service.store.moving import Differs, compare

    settings = session_of(ctx).settings()
    log_to_stderr(whole=False, form=settings.log_format)
    with ExitStack() as stack:
        old = stack.enter_context(opened(settings.database_url, "ROOTBOUND_DATABASE_URL"))
        new = stack.enter_context(opened(url_wanted(to, to_file), "--to"))
        compared = compare(old, new, stack.enter_context(_bars()))
    _print(compared)
    if not all(one.same for one in compared):
        raise Differs(compared)
    typer.echo(f"All {len(compared)} tables hold the same.")


def _must_stand_still(old: Engine, now: datetime) -> None:
    from rootbound_service.errors import Problem, RefusedInput
    from rootbound_service.store.migrate import revision_of
    from rootbound_service.store.migrations import HEAD
    from rootbound_service.store.moving_still import still_moving

    if revision_of(old) != HEAD:
        return  # the move itself says what is wrong with it
    with old.execution_options(ro=True).connect() as conn:
        said = still_moving(conn, now)
    wanted = "stop the service and wait until this has passed, or add --force if nothing runs"
    if said:
        raise RefusedInput(tuple(Problem("the service", one, wanted) for one in said))


def on_terminal() -> bool:
    """Whether somebody watches."""
    return sys.stderr.isatty()


@contextmanager
def _bars() -> Generator[Told]:
    """Show a bar for each step on stderr, with rows and time left; nothing without a terminal."""
    from rootbound_service.store.moving import quiet

    if not on_terminal():
        yield quiet
        return
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    from rootbound_service.cli.screen import console

    parts = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(
        *parts,
        TextColumn("rows,"),
        TimeRemainingColumn(),
        TextColumn("left"),
        console=console(err=True),
    ) as shown:
        tasks: dict[str, TaskID] = {}

        def told(step: str, done: int, total: int) -> None:
            if step not in tasks:
                tasks[step] = shown.add_task(step, total=total)
            shown.update(tasks[step], completed=done)

        yield told


def _print(compared: Sequence[Compared]) -> None:
    from rootbound_service.cli.screen import print_table

    rows = [_line(one) for one in compared]
    print_table(("table", "rows", "checksum", ""), rows, whole=("table", "rows"))


def _line(one: Compared) -> tuple[str, ...]:
    if one.same:
        return one.table, str(one.old.rows), one.old.checksum[:12], "same"
    rows = f"{one.old.rows} / {one.new.rows}"
    return one.table, rows, f"{one.old.checksum[:12]} / {one.new.checksum[:12]}", "DIFFERS"
