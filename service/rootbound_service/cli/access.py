"""``rootbound access``: who may come in, and a way in while mail is down."""

from __future__ import annotations

from typing import Annotated

import typer

from rootbound_service.cli.errors import EPILOG, PlainGroup
from rootbound_service.cli.session import session_of

Mail = Annotated[str, typer.Argument(metavar="EMAIL", help="Of somebody on record.")]
Whom = Annotated[
    str, typer.Argument(metavar="PERSON", help='A name, a mail address, or "Name <mail>".')
]
Name = Annotated[str, typer.Argument(metavar="NAME", help="As its members read it, or #number.")]
Adviser = Annotated[
    str, typer.Option("--adviser", metavar='"NAME <MAIL>"', help="Who enrols and invites there.")
]
Zone = Annotated[
    str | None, typer.Option(metavar="ZONE", help="Of somebody new, as America/Chicago.")
]
End = Annotated[bool, typer.Option("--end", help="They are it no more.")]

access = typer.Typer(
    cls=PlainGroup,
    help="Who may come in to the pages, and as what.",
    no_args_is_help=True,
    epilog=EPILOG,
)


@access.command("link", epilog=EPILOG)
def link(ctx: typer.Context, email: Mail) -> None:
    """Print a link that signs somebody in, for the first time and while mail is down.

    It works once, for 15 minutes, for whoever has it: hand it to nobody but them.
    """
    from rootbound_service.cli.access_card import link_lines

    session = session_of(ctx)
    with session.service() as service, service.engine.begin() as conn:
        lines = link_lines(conn, session.settings(), email, service.clock.now())
    for line in lines:
        typer.echo(line)


@access.command("operator", epilog=EPILOG)
def operator(
    ctx: typer.Context,
    person: Whom,
    time_zone: Zone = None,
    end: End = False,  # noqa: FBT002  typer's
) -> None:
    """Let somebody see the operator's pages, which show how the service does and no field."""
    from rootbound_service.cli.access_card import name_operator

    with session_of(ctx).service() as service, service.engine.begin() as conn:
        line = name_operator(conn, person, time_zone, service.clock.now(), end=end)
    typer.echo(line)


@access.command("account", epilog=EPILOG)
def account(ctx: typer.Context, name: Name, adviser: Adviser, time_zone: Zone = None) -> None:
    """Make an account with its first adviser, or give one that is there a further adviser."""
    from rootbound_service.cli.access_card import open_account

    with session_of(ctx).service() as service, service.engine.begin() as conn:
        line = open_account(conn, name, adviser, time_zone, service.clock.now())
    typer.echo(line)


@access.command("list", epilog=EPILOG)
def list_(ctx: typer.Context) -> None:
    """List the accounts with their people, what each may do, and where they are signed in."""
    from rootbound_service.cli.access_card import access_rows
    from rootbound_service.cli.screen import print_table

    with session_of(ctx).service() as service, service.engine.connect() as conn:
        rows = access_rows(conn, service.clock.now())
    if not rows:
        typer.echo('Nobody yet: rootbound access account NAME --adviser "Name <mail>".')
        return
    print_table(("account", "person", "may", "signed in"), rows, whole=("account",))
